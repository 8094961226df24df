"""The season that was: what was told on each day, from the entries of that day, against what happened."""

from eggtooth.engine.review.dates import Tally, Told, tallied
from eggtooth.engine.review.season import Review, review_of

__all__ = ["Review", "Tally", "Told", "review_of", "tallied"]
