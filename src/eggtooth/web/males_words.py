"""A male's wear in words, the same on every page."""

from __future__ import annotations

from eggtooth.engine.condition.wear import Wear, WearState
from eggtooth.web.speech import spoken


def rest_said(wear: Wear) -> str:
    """The middle date by which he must rest and its span; empty for one that rests or does not breed."""
    by = wear.rest_by
    if by is None or wear.state is WearState.RESTING:
        return ""
    low, mid, high = by
    return spoken("{mid:%-d %b} ({low:%-d %b} to {high:%-d %b})", mid=mid, low=low, high=high)


def loss_said(wear: Wear) -> str:
    """Mass against the season's start, in few words."""
    if wear.loss is None:
        return ""
    loss = round(wear.loss)
    if not loss:
        return spoken("no lighter")
    return spoken("{percent} % lighter" if loss > 0 else "{percent} % heavier", percent=abs(loss))
