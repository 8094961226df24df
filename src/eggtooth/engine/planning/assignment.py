"""Who goes to whom so that the sum of gains is greatest: exact, one to one, staying home allowed.

Our own, since loading a general solver takes longer than the whole list of the day; held to one in the tests.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

HOME = -1
NO_PAIR = -np.inf


class Assignment:
    """Rows to columns at the greatest total gain; a row may stay home at a gain of zero.

    `gain` has shape (rows, columns), in any unit; `NO_PAIR` where two may not meet. Shortest augmenting
    paths over prices of the columns (the Hungarian method), begun from prices that already part rows whose
    gains are alike. Certifies itself: `prices` and each row's best surplus bound any assignment from above,
    and the one found meets that bound. Cost: rows x columns to begin with, then one pass over the columns for
    every step of a path; a pair forbidden later costs one more path.
    """

    def __init__(self, gain: Floats) -> None:
        """Solve. Raises `ValueError` unless `gain` is a matrix without NaN or infinite gains."""
        if gain.ndim != 2 or np.isnan(gain).any() or (gain == np.inf).any():
            raise ValueError(f"gains must be a matrix of finite numbers or NO_PAIR, not shape {gain.shape}")
        rows, columns = gain.shape
        self.columns = columns
        self.gain = np.full((rows, columns + rows), NO_PAIR)
        self.gain[:, :columns] = gain
        self.gain[np.arange(rows), columns + np.arange(rows)] = 0.0
        self.prices = np.zeros(columns + rows)
        self.prices[:columns] = _first_prices(gain)
        self.taken_by = np.full(columns + rows, HOME)
        self.place = np.full(rows, HOME)
        self._seat(_begin(self))

    @property
    def choice(self) -> NDArray[np.int64]:
        """The column of each row, (rows,), or `HOME`."""
        return np.where(self.place < self.columns, self.place, HOME)

    def forbid(self, row: int, column: int) -> None:
        """Two may not meet after all: a new best assignment without them."""
        self.gain[row, column] = NO_PAIR
        if self.place[row] == column:
            self.taken_by[column] = HOME
            self.place[row] = HOME
            self._seat([row])

    @property
    def total(self) -> float:
        """The sum of gains."""
        return float(self.gain[np.arange(len(self.place)), self.place].sum())

    def bound(self) -> float:
        """No assignment gains more than this: the prices, and each row's best surplus over them."""
        return float(self.prices.sum() + (self.gain - self.prices).max(axis=1, initial=NO_PAIR).sum())

    def _seat(self, rows: list[int]) -> None:
        """Find a place for each row without one, then lower the prices of columns nobody is on."""
        for row in rows:
            self._forward(row)
        for column in np.flatnonzero((self.taken_by == HOME) & (self.prices > 0)).tolist():
            self._backward(column)

    def _forward(self, row: int) -> None:
        """The cheapest path of moves by which a row without a place gets one; prices on it rise."""
        surplus = self.gain[row] - self.prices
        far = surplus.max() - surplus
        via = np.full(len(far), row)
        done: list[int] = []
        open_far = far.copy()
        while self.taken_by[column := int(open_far.argmin())] != HOME:
            at, other = open_far[column], int(self.taken_by[column])
            done.append(column)
            open_far[column] = np.inf
            reach = (self.gain[other, column] - self.prices[column] + at) + (self.prices - self.gain[other])
            nearer = reach < far
            nearer[done] = False
            far[nearer] = open_far[nearer] = reach[nearer]
            via[nearer] = other
        self.prices[done] += far[column] - far[done]
        while row != self._move(int(via[column]), column):
            column = self._left
        self._left = HOME

    _left = HOME

    def _move(self, row: int, column: int) -> int:
        """Put a row on a column; remembers the column it came from, and returns the row."""
        self._left = int(self.place[row])
        self.place[row], self.taken_by[column] = column, row
        return row

    def _backward(self, start: int) -> None:
        """Lower the price of a column nobody is on until somebody wants it, or it costs nothing."""
        mine = self.gain[np.arange(len(self.place)), self.place] - self.prices[self.place]
        far = mine + self.prices[start] - self.gain[:, start]
        via = np.full(len(far), start)
        done: list[int] = []
        fallen, at_column = [start], [0.0]
        end, least = start, float(self.prices[start])
        open_far = far.copy()
        while len(open_far) and open_far[row := int(open_far.argmin())] < least:
            at, column = float(open_far[row]), int(self.place[row])
            open_far[row] = np.inf
            done.append(row)
            fallen.append(column)
            at_column.append(at)
            if at + self.prices[column] < least:
                end, least = column, at + float(self.prices[column])
            reach = at + mine + self.prices[column] - self.gain[:, column]
            nearer = reach < far
            nearer[done] = False
            far[nearer] = open_far[nearer] = reach[nearer]
            via[nearer] = column
        self.prices[fallen] -= np.maximum(least - np.array(at_column), 0.0)
        self._hand_back(start, end, via)

    def _hand_back(self, start: int, end: int, via: NDArray[np.int64]) -> None:
        """Move rows along a path so that `start` is taken and `end`, which costs nothing now, is free."""
        row = int(self.taken_by[end])
        self.taken_by[end] = HOME
        while row != HOME:
            column = int(via[row])
            before = int(self.taken_by[column])
            self.place[row], self.taken_by[column] = column, row
            row = before
        self.prices[end] = 0.0


def _first_prices(gain: Floats) -> Floats:
    """Prices as if rows differed only in one trait that columns reward more or less; zeros if few may meet.

    The better row gets the column that rewards it more; each column costs what the next row would pay for
    it rather than for its own, down to what a column costs that nobody gets.
    """
    rows, columns = gain.shape
    prices = np.zeros(columns)
    may = gain > 0
    if gain.size == 0 or may.mean() < 0.5:
        return prices
    kept = np.where(may, gain, 0.0)
    by_row, by_column = (_mean(kept, may, axis) for axis in (1, 0))
    order = np.argsort(-by_row, kind="stable")
    n = min(rows, columns)
    half = order[: max(1, rows // 2)]
    slope = _mean(kept[half], may[half], 0) - by_column
    best = np.argsort(-by_column, kind="stable")[:n]
    best = best[np.argsort(-slope[best], kind="stable")]
    trait = (by_row - by_row.mean()) / max(float(by_row[half].mean() - by_row.mean()), 1e-300)
    fitted = by_column + trait[order, None] * slope
    steps = fitted[np.arange(1, n), best[:-1]] - fitted[np.arange(1, n), best[1:]]
    ladder = np.append(np.cumsum(steps[::-1])[::-1], 0.0)
    others = np.delete(by_column, best)
    least = others.max(initial=0.0)
    surplus = by_column[best] - ladder
    prices[best] = np.maximum(np.rint(ladder + surplus.min() - least), 0.0)
    return prices


def _mean(kept: Floats, may: NDArray[np.bool_], axis: int) -> Floats:
    mean: Floats = kept.sum(axis=axis) / np.maximum(may.sum(axis=axis), 1)
    return mean


def _begin(found: Assignment) -> list[int]:
    """Seat every row on a best column of its own if one is free; returns the rows left over."""
    surplus = found.gain - found.prices
    best = surplus.max(axis=1, initial=NO_PAIR)
    left = []
    for row in range(len(best)):
        tight = np.flatnonzero((surplus[row] == best[row]) & (found.taken_by == HOME))
        if len(tight):
            found.place[row], found.taken_by[tight[0]] = tight[0], row
        else:
            left.append(row)
    return left
