"""Numbers as they are typed after an option. Each raises `ArgumentTypeError` for what is none."""

from __future__ import annotations

import argparse
from fractions import Fraction

MOST = 100_000


def count(text: str) -> int:
    """A whole number of 1 or more."""
    if not text.isascii() or not text.isdigit() or len(text) > len(str(MOST)) or not 0 < int(text) <= MOST:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of 1 or more")
    return int(text)


def recombination(text: str) -> Fraction:
    """A share between 0 and 1/2, exactly as typed."""
    try:
        share = Fraction(text if "e" not in text.casefold() else "-1")  # 1e-999999999 would take all memory
    except (ValueError, ZeroDivisionError):
        share = Fraction(-1)
    if not 0 <= share <= Fraction(1, 2):
        raise argparse.ArgumentTypeError(f"{text!r} is not a share between 0 and 0.5")
    return share
