"""A male's wear in words, the same on every page."""

from __future__ import annotations

from eggtooth.engine.condition.wear import Wear, WearState
from eggtooth.web.days import day_month


def rest_said(wear: Wear) -> str:
    """The middle date by which he must rest and its span; empty for one that rests or does not breed."""
    by = wear.rest_by
    if by is None or wear.state is WearState.RESTING:
        return ""
    low, mid, high = by
    return f"{day_month(mid)} ({day_month(low)} to {day_month(high)})"


def loss_said(wear: Wear) -> str:
    """Mass against the season's start, in few words."""
    if wear.loss is None:
        return ""
    loss = round(wear.loss)
    if not loss:
        return "no lighter"
    return f"{abs(loss)} % {'lighter' if loss > 0 else 'heavier'}"
