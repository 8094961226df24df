"""What each kind of entry carries: which number it needs, and the grammar of its detail."""

from __future__ import annotations

import re
from collections.abc import Callable

from eggtooth.engine.entries import Detail, Kind, LabTest, Prey, Sign
from eggtooth.engine.wording import say
from eggtooth.records.files.fields import LONGEST_DETAIL, Measure, tub_of, words_of
from eggtooth.records.files.refusal import Wrong, nearest

MEASURES = {
    Kind.WEIGHT: Measure(say("a weight"), 0.1, 99_999, unit="g"),
    Kind.MEAL: Measure(say("the number of prey items taken"), 0, 99, whole=True),
    Kind.SCAN: Measure(say("the diameter of the largest follicles"), 0, 120, unit="mm"),
    Kind.LAID: Measure(say("the number of good eggs"), 0, 99, whole=True),
    Kind.EGGS: Measure(say("the number of eggs still good"), 0, 99, whole=True),
    Kind.PIPPED: Measure(say("the number pipped"), 0, 99, whole=True),
    Kind.HATCHED: Measure(say("the number hatched"), 0, 99, whole=True),
    Kind.TEMPERATURE: Measure(say("a temperature"), 0, 60, unit="°C"),
}
"""The kinds that need a number; all others must have none. Bounds are what cannot be, not what is odd."""

PREY_G = Measure(say("the mass of one prey item"), 0.1, 5000, unit="g")
COUNT = Measure(say("a count"), 0, 99, whole=True)
TEST_ERROR = Measure(say("the error of a test"), 0, 50, unit="%")
_GRAMS = re.compile(r"(?:(?P<prey>.*\S)\s+)?(?P<grams>[\d.]+)\s*g", re.ASCII)
_COUNTED = {Kind.SCAN: ("follicle", "7 follicles"), Kind.LAID: ("slug", "2 slugs")}
_TEST = re.compile(r"(?P<gene>.*\S)\s+(?P<copies>\d+)(?:\s+error\s+(?P<error>[\d.]+)\s*%)?", re.ASCII | re.I)


def kind_of(text: str) -> Kind:
    """The kind a word names, whatever its case."""
    word = " ".join(text.split()).casefold()
    try:
        return Kind(word)
    except ValueError:
        if not word:
            raise Wrong(
                "kind", "", say("the kind is missing"), say("one of: {known}", known=", ".join(Kind))
            ) from None
        wanted = say("one of: {known}", known=", ".join(Kind))
        raise Wrong("kind", text, say("is not a kind of entry"), wanted, nearest(word, list(Kind))) from None


def value_of(kind: Kind, text: str) -> float | None:
    """The number of an entry, by its kind."""
    measure = MEASURES.get(kind)
    if measure is not None:
        return measure.read("value", text)
    if text.strip():
        raise Wrong(
            "value",
            text.strip(),
            say("stands in value, but {kind} has no value", kind=kind),
            say("leave it empty"),
        )
    return None


def detail_of(kind: Kind, text: str) -> Detail:
    """The detail of an entry, by its kind; grammar only: whether a tag is known is asked elsewhere."""
    words = words_of("detail", text, most=LONGEST_DETAIL)
    if not words and kind not in NEEDED:
        return None
    if not words:
        raise Wrong("detail", "", say("{kind} needs a detail", kind=kind), NEEDED[kind])
    return READERS.get(kind, _as_it_is)(kind, words)


NEEDED = {
    Kind.PAIRED: say("the tag of the other animal"),
    Kind.PARTED: say("the tag of the other animal"),
    Kind.LOCK: say("the tag of the other animal"),
    Kind.SIGN: say("one of: {known}", known=", ".join(Sign)),
    Kind.TEST: say("the gene and the copies found, like Clown 1 or Clown 1 error 2%"),
    Kind.MOVED: say("the new tub as rack-row-place, like A-3-2"),
}


def _as_it_is(kind: Kind, words: str) -> str:
    return words


def _prey(kind: Kind, words: str) -> Prey:
    found = _GRAMS.fullmatch(words)
    if not found:
        return Prey(words)
    return Prey(found["prey"] or "", PREY_G.read("detail", found["grams"]))


def _count(kind: Kind, words: str) -> int:
    noun, example = _COUNTED[kind]
    found = re.fullmatch(rf"(\d+)\s*{noun}s?", words, re.ASCII | re.I)
    if not found:
        raise Wrong(
            "detail",
            words,
            say("is not a count of {noun}s", noun=noun),
            say("write it like {example}, or leave it empty", example=example),
        )
    return int(COUNT.read("detail", found[1]))


def _sign(kind: Kind, words: str) -> Sign:
    word = " ".join(words.split()).casefold()
    try:
        return Sign(word)
    except ValueError:
        near = nearest(word, list(Sign))
        raise Wrong("detail", words, say("is not a sign"), NEEDED[Kind.SIGN], near) from None


def _test(kind: Kind, words: str) -> LabTest:
    found = _TEST.fullmatch(words)
    if not found or int(found["copies"]) > 2:
        raise Wrong(
            "detail",
            words,
            say("is not a laboratory result"),
            say("write {needed}; copies are 0 to 2", needed=NEEDED[Kind.TEST]),
        )
    if found["error"] is None:
        return LabTest(found["gene"], int(found["copies"]))
    percent = TEST_ERROR.read("detail", found["error"])
    return LabTest(found["gene"], int(found["copies"]), percent / 100)


def _moved(kind: Kind, words: str) -> str:
    return str(tub_of("detail", words))


READERS: dict[Kind, Callable[[Kind, str], Detail]] = {
    Kind.MEAL: _prey,
    Kind.SCAN: _count,
    Kind.LAID: _count,
    Kind.SIGN: _sign,
    Kind.TEST: _test,
    Kind.MOVED: _moved,
}
