"""What one tap on a line of the round can say, and the entry it becomes."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext_noop as _

from eggtooth.engine.entries import Kind, Sign
from eggtooth.engine.rounds import Task, Todo


@dataclass(frozen=True, slots=True)
class Answer:
    """One button. `ask` names the number it wants (`g`, `mm`, `eggs`) or is empty for a plain tap.

    `takes_partner`: the entry's detail is the other animal of the line.
    """

    say: str
    label: str
    kind: Kind
    value: float | None = None
    detail: str = ""
    ask: str = ""
    least: float = 0
    most: float = 0
    takes_partner: bool = False


LOCKED = Answer("locked", _("Locked"), Kind.LOCK, takes_partner=True)
PARTED = Answer("parted", _("Parted"), Kind.PARTED, takes_partner=True)
MOVED_IN = Answer("in", _("Moved in"), Kind.PAIRED, takes_partner=True)
RESTED = Answer("rested", _("Rested"), Kind.RESTED, detail="worn")
GRAMS = Answer("grams", _("Note"), Kind.WEIGHT, ask="g", least=1, most=9999)
SCANNED = Answer("scanned", _("Note"), Kind.SCAN, ask="mm", least=0, most=70)
REFUSED = Answer("refused", _("Refused"), Kind.MEAL, value=0)
ATES = (_("Ate"), _("Ate 2"), _("Ate 3"))
ATE = tuple(Answer(f"ate{n}", label, Kind.MEAL, value=n) for n, label in enumerate(ATES, 1))
SHED = Answer("shed", _("Shed"), Kind.SHED)
OVULATED = Answer("ovulated", _("Ovulated"), Kind.OVULATION)
SIGNS = (
    Answer("glow", _("Glow"), Kind.SIGN, detail=Sign.GLOW),
    Answer("bowl", _("Wraps bowl"), Kind.SIGN, detail=Sign.BOWL_WRAPPING),
    Answer("cool", _("Seeks cool"), Kind.SIGN, detail=Sign.COOL_SEEKING),
)
PRELAY_SHED = Answer("prelay", _("Pre-lay shed"), Kind.PRELAY_SHED)
LAID = Answer("laid", _("Laid"), Kind.LAID, ask=_("good eggs"), least=0, most=25)
CANDLED = Answer("eggs", _("Still good"), Kind.EGGS, ask=_("eggs"), least=0, most=25)
PIPPED = Answer("pipped", _("Pipped"), Kind.PIPPED, ask=_("eggs"), least=1, most=25)
HATCHED = Answer("hatched", _("Hatched"), Kind.HATCHED, ask=_("young"), least=0, most=25)

BY_TODO: dict[Todo, tuple[Answer, ...]] = {
    Todo.CHECK_FOR_LOCK: (LOCKED, PARTED),
    Todo.LEAVE_IN: (PARTED,),
    Todo.PART: (PARTED,),
    Todo.MOVE_IN: (MOVED_IN,),
    Todo.REST_MALE: (RESTED,),
    Todo.WEIGH: (GRAMS,),
    Todo.SCAN: (SCANNED,),
    Todo.FEED: (ATE[0], ATE[1], REFUSED),
    Todo.EGGS_DUE: (LAID,),
    Todo.CHECK_EGGS: (CANDLED,),
    Todo.HATCH_DUE: (PIPPED, HATCHED),
    Todo.HATCHLING: (SHED, ATE[0], REFUSED),
}
ALL = {a.say: a for a in (*ATE, *SIGNS, OVULATED, PRELAY_SHED)} | {
    a.say: a for t in BY_TODO.values() for a in t
}


STEPS = {"mm": "5 1", "g": "10 1"}
HEAVY_G, HEAVY_STEPS = 500, "50 10 1"


def steps_of(ask: str, likely: float) -> str:
    """The steps by which a number is moved with taps, the largest first."""
    return HEAVY_STEPS if ask == "g" and likely >= HEAVY_G else STEPS.get(ask, "1")


def answers_to(task: Task) -> tuple[Answer, ...]:
    """The buttons of a line."""
    if task.todo is Todo.WATCH:
        return (PRELAY_SHED,) if "pre-lay shed" in task.why else (OVULATED, *SIGNS)
    if task.todo is Todo.FEED and "as many as she takes" in task.why:
        return (*ATE, REFUSED)
    if task.todo is Todo.HATCHLING and not task.tag:
        return ()
    return BY_TODO.get(task.todo, ())
