"""Each figure of biology and genetics once, with its unit, its spread and where it comes from."""

from eggtooth.engine.facts.fact import Beta, Fact, LogNormal, Normal, Spread
from eggtooth.engine.facts.sources import CHOICE, COMMON_PRACTICE, Source, Standing

__all__ = ["CHOICE", "COMMON_PRACTICE", "Beta", "Fact", "LogNormal", "Normal", "Source", "Spread", "Standing"]
