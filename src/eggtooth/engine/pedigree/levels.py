"""A cutset's plan lined up level by level: steps that do not wait for one another are taken at once.

Rows of one array hold, chain by chain, the tables cut at the held unknowns and then the messages; the table
of a step is a product of such rows, picked by place. So a sweep takes some numpy calls a level, not a step.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.elimination import Factor

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]


@dataclass
class Step:
    """One unknown to sum out, the later unknowns `around` it that it hangs on, and the first row of its
    message.

    `parts`: tables over free unknowns alone; `rows`: for each message and each cut table, its rows by cell,
    ready to be spread over [size, *sizes around].
    """

    unknown: int
    around: tuple[int, ...]
    shape: tuple[int, ...]
    parts: list[Floats]
    rows: list[Ints]
    level: int = 0
    message: int = 0

    @property
    def below(self) -> int:
        """Cells of the message."""
        out = 1
        for size in self.shape[1:]:
            out *= size
        return out


@dataclass(frozen=True)
class Level:
    """Steps of one level whose unknowns have equally many states S, their tables side by side: [S, A].

    `fixed` [S, A]; `rounds`: rows to multiply the first so many columns by, [S, a]; `first` [steps] column
    where each begins, `owner` [A] the step of each column; `messages`: rows the messages go to; `unknowns`
    [steps]; `around`, `strides` [widest, steps]: a state row that is always 0 where there is none.
    """

    fixed: Floats
    rounds: list[Ints]
    first: Ints
    owner: Ints
    messages: slice
    unknowns: Ints
    around: Ints
    strides: Ints


@dataclass(frozen=True)
class Plan:
    """All levels, lowest first, and how many `rows` they need.

    `cells` [cut cells] and `cut` [cut cells]: place of a cell in the flat tables and its cut; `held`,
    `strides` [widest, cuts]: what shifts that place; `always`: unknowns held.
    """

    levels: list[Level]
    rows: int
    cells: Ints
    cut: Ints
    held: Ints
    strides: Ints
    always: Ints


def plan_of(
    order: Sequence[int],
    cliques: Sequence[tuple[int, ...]],
    factors: Sequence[Factor],
    begins: Sequence[int],
    sizes: Mapping[int, int],
) -> Plan:
    """Line up every table and message. Unknowns are 0, 1, ...; `begins`: where a table's cells begin in the
    flat tables."""
    import numpy as np

    place = {v: k for k, v in enumerate(order)}
    steps = []
    for clique in cliques:
        around = tuple(sorted((u for u in clique[1:] if u in place), key=place.__getitem__))
        steps.append(Step(clique[0], around, tuple(sizes[v] for v in (clique[0], *around)), [], []))
    cells: list[Ints] = [np.empty(0, dtype=np.int64)]
    cuts: list[list[tuple[int, int]]] = []
    rows = 1  # row 0 is all ones
    for factor, begin in zip(factors, begins, strict=True):
        free = sorted((v for v in factor.scope if v in place), key=place.__getitem__)
        if not free:
            continue
        step = steps[place[free[0]]]
        shape = tuple(sizes[v] if v in free else 1 for v in (step.unknown, *step.around))
        held = [v for v in factor.scope if v not in place]
        if not held:
            axes = [factor.scope.index(v) for v in free]
            step.parts.append(factor.values.transpose(axes).reshape(shape))
            continue
        strides = dict(zip(factor.scope, strides_of(factor.values.shape), strict=True))
        at = _places([strides[v] for v in free], [sizes[v] for v in free]) + begin
        step.rows.append((rows + np.arange(len(at))).reshape(shape))
        cuts.append([(v, strides[v]) for v in held])
        cells.append(at)
        rows += len(at)
    _stack(steps, place, sizes)
    levels = []
    for alike in _alike(steps):
        levels.append(_level(alike, rows, len(sizes), place, steps, sizes))
        rows = levels[-1].messages.stop
    held_rows, held_strides = padded(cuts, len(sizes))
    owner = np.repeat(np.arange(len(cuts)), [len(c) for c in cells[1:]])
    always = np.array([v for v in sizes if v not in place], dtype=np.int64)
    return Plan(levels, rows, np.concatenate(cells), owner, held_rows, held_strides, always)


def strides_of(shape: Sequence[int]) -> list[int]:
    out, step = [], 1
    for size in reversed(shape):
        out.append(step)
        step *= size
    return out[::-1]


def _places(strides: Sequence[int], sizes: Sequence[int]) -> Ints:
    """Place of every cell of a table, last unknown fastest."""
    import numpy as np

    at = np.zeros(1, dtype=np.int64)
    for stride, size in zip(strides, sizes, strict=True):
        at = (at[:, None] + stride * np.arange(size)).ravel()
    return at


def _stack(steps: Sequence[Step], place: Mapping[int, int], sizes: Mapping[int, int]) -> None:
    """Put each step above those that send to it."""
    for step in steps:
        if step.around:
            taker = steps[place[step.around[0]]]
            taker.level = max(taker.level, step.level + 1)


def _alike(steps: Sequence[Step]) -> Iterator[list[Step]]:
    """Steps of equal level and states, lowest level first; those with most tables first."""
    groups: dict[tuple[int, int], list[Step]] = {}
    for step in steps:
        groups.setdefault((step.level, step.shape[0]), []).append(step)
    for key in sorted(groups):
        yield groups[key]


def _level(
    alike: list[Step],
    rows: int,
    nobody: int,
    place: Mapping[int, int],
    steps: Sequence[Step],
    sizes: Mapping[int, int],
) -> Level:
    """Lay the steps side by side, and tell those above where their messages are."""
    import numpy as np

    alike = sorted(alike, key=lambda s: -len(s.rows))
    fixed, at = [], rows
    for step in alike:
        table = np.ones(step.shape)
        for part in step.parts:
            table = table * part
        fixed.append(table.reshape(step.shape[0], -1))
        if step.around:
            taker = steps[place[step.around[0]]]
            shape = tuple(sizes[v] if v in step.around else 1 for v in (taker.unknown, *taker.around))
            taker.rows.append((at + np.arange(step.below)).reshape(shape))
        at += step.below
    rounds = []
    for turn in range(len(alike[0].rows)):
        mine = [
            np.broadcast_to(s.rows[turn], s.shape).reshape(s.shape[0], -1)
            for s in alike
            if len(s.rows) > turn
        ]
        rounds.append(np.concatenate(mine, axis=1))
    columns = np.array([step.below for step in alike])
    around, strides = padded(
        [list(zip(s.around, strides_of(s.shape[1:]), strict=True)) for s in alike], nobody
    )
    return Level(
        np.concatenate(fixed, axis=1),
        rounds,
        columns.cumsum() - columns,
        np.repeat(np.arange(len(alike)), columns),
        slice(rows, at),
        np.array([s.unknown for s in alike]),
        around,
        strides,
    )


def padded(lists: Sequence[Sequence[tuple[int, int]]], nobody: int) -> tuple[Ints, Ints]:
    """Unknowns and strides as arrays [widest, lists]."""
    import numpy as np

    widest = max(map(len, lists), default=0)
    who, by = np.full((widest, len(lists)), nobody), np.zeros((widest, len(lists)), dtype=np.int64)
    for k, pairs in enumerate(lists):
        for i, (v, stride) in enumerate(pairs):
            who[i, k], by[i, k] = v, stride
    return who, by


def places_of(state: Ints, first: Ints, around: Ints, strides: Ints) -> Ints:
    """Place [steps, chains] of the cell that the states [V + 1, chains] pick."""
    import numpy as np

    at = np.repeat(first[:, None], state.shape[1], axis=1)
    for who, by in zip(around, strides, strict=True):
        at += by[:, None] * state[who]
    return at
