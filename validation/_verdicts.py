"""What one setting of the season's validation holds, fails or leaves open, by figures and their intervals.

A bar on a ratio of errors is held when its whole 90 % interval, had other houses been drawn, lies below the
bar, and missed when the whole lies above; in between nothing is decided, and more houses have to be drawn.
"""

from __future__ import annotations

import numpy as np

from validation._again import Interval
from validation._tally import Tally

IN_90 = (0.85, 0.95)
NEAR_BEST = 1.10
GAIN_AT_60 = 0.85


def held(t: Tally, at_home: bool) -> list[str]:
    """Whether the intervals hold, within 2.5 standard errors of a share of this many females. `at_home`: the
    rates fit the world (as the priors do, or learned there)."""
    found = []
    for date, share in t.coverage().items():
        room = 2.5 * float(np.sqrt(0.9 * 0.1 / len(t.held[date])))
        if share < IN_90[0] - room or (at_home and share > IN_90[1] + room):
            found.append(f"FAILS {{}}: {date}: {share:.3f} inside the 90 % interval")
    return found


def near(t: Tally) -> list[str]:
    """Whether the laid date's error is near the best observer's and below the plain rule's.

    Where not even the observer that learns the house from the same entries comes near the one that knows it,
    or below the plain rule, the bar is out of reach: said plainly, and the forecast is held to this observer.
    """
    reachable = max(1.0, t.possible_to_best)
    within = t.to_best <= NEAR_BEST * reachable
    plain, _, best = t.gains_90()
    beside = f", {reachable:.3f} not knowing the house" if t.stranger_error else ""
    found = []
    if word := _word(best, NEAR_BEST, reachable > NEAR_BEST and within):
        found.append(f"{word} {{}}: mean error {_told(t.to_best, best)} of the best observer's{beside}")
    possible = reachable * t.best_to_plain
    if word := _word(plain, 1.0, possible >= 1 and within):
        found.append(
            f"{word} {{}}: mean error {_told(t.to_plain, plain)} of the plain rule's, {possible:.3f} possible"
        )
    return found


def _word(interval: Interval, bar: float, out_of_reach: bool) -> str:
    """The verdict of a ratio that is to lie below a bar: none where it surely does, no excuse where it may
    after all."""
    if interval[1] <= bar:
        return ""
    if interval[0] <= bar:
        return "UNDECIDED"
    return "OUT OF REACH" if out_of_reach else "FAILS"


def _told(value: float, interval: Interval) -> str:
    return f"{value:.3f} [{interval[0]:.3f}, {interval[1]:.3f}]"


def gain(t: Tally) -> list[str]:
    """Whether a miss of the 15 % below the plain rule could be helped, by the observers' figures alone: not
    where they do not reach it themselves; where they do, but might not with other houses, it is undecided."""
    if t.to_plain <= GAIN_AT_60:
        return []
    reachable = max(1.0, t.possible_to_best)
    if t.to_best > NEAR_BEST * reachable:
        word = "FAILS"
    elif reachable * t.best_to_plain > GAIN_AT_60:
        word = "OUT OF REACH"
    else:
        word = "UNDECIDED" if reachable * t.gains_90()[1][1] > GAIN_AT_60 else "FAILS"
    return [f"{word} {{}}: {gains(t)}"]


def gains(t: Tally) -> str:
    """The laid date's errors over one another, each with what other houses might have given."""
    values = (t.to_plain, t.best_to_plain, t.to_best)
    ours, best, to_best = (_told(v, interval) for v, interval in zip(values, t.gains_90(), strict=True))
    return f"error {ours} of the plain rule's, the best observer's {best}; {to_best} of the best observer's"


def misses(t: Tally, at_home: bool, beside_best: bool, early: bool) -> list[str]:
    """All verdicts of one setting that is not held; `early`: the one in which the gain is asked."""
    found = held(t, at_home)
    if beside_best:
        found += near(t) + (gain(t) if early else [])
    return found
