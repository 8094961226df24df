"""The catalogues of the pages' texts: `make words` adds new texts to each and compiles it, with Python alone.

A template is read as Django reads it, code by Babel (https://babel.pocoo.org), and the sentences made by
`say` and its kin from the syntax tree of the code. What was translated stays.
"""

from __future__ import annotations

import ast
import io
import re
import sys
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import DEFAULT_KEYWORDS, extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.utils.translation.template import templatize

from eggtooth.engine.colony import State
from eggtooth.engine.condition.appetite import Eats
from eggtooth.engine.condition.meals import Diet
from eggtooth.engine.condition.wear import WearState
from eggtooth.engine.cycle.season import Stage
from eggtooth.engine.entries import Kind, Sign
from eggtooth.engine.facts import biology
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.facts.fact import Fact
from eggtooth.engine.facts.sources import CHOICE, COMMON_PRACTICE
from eggtooth.engine.rounds.task import Todo
from eggtooth.records.files.table import COLUMNS

WEB = Path(__file__).resolve().parents[1] / "src" / "eggtooth" / "web"
LOCALES = WEB / "locale"
PROJECT = WEB.parent
SPEAKING = [WEB, PROJECT / "engine", PROJECT / "jobs", PROJECT / "records"]
MARKS = {"gettext_lazy": None, "gettext_noop": None, "ngettext_lazy": (1, 2)}
KEYWORDS = {**DEFAULT_KEYWORDS, **MARKS}
MAKERS = {"eggtooth.engine.wording", "eggtooth.web.speech"}
WORDS = (Kind, Todo, Stage, Diet, Sign, WearState, Eats, State, COLUMNS["animals"])
"""Words of the records and of the engine that pages show as they are."""
SHOWN = re.compile(r"biology\.([A-Z][A-Z0-9_]+)")
"""Facts that a page names."""
SAYING = {"say": 1, "spoken": 1, "joined": 1, "say_n": 2, "spoken_n": 2}
"""What makes sentences, and how many templates each takes first."""


def texts() -> Catalog:
    """Every text of the pages, with where it stands."""
    found = Catalog(project="Eggtooth", charset="utf-8")
    for path in sorted(WEB.rglob("*.html")) + sorted(WEB.rglob("*.py")):
        code = path.read_text()
        if path.suffix == ".html":
            code = templatize(code, origin=str(path))
        where = str(path.relative_to(WEB))
        read = extract("python", io.BytesIO(code.encode()), keywords=KEYWORDS, options={"encoding": "utf-8"})
        for _, message, _, context in read:
            flags = ("python-format",) if "%(" in str(message) else ()
            found.add(message, locations=[(where, None)], context=context, flags=flags)
    for folder in SPEAKING:
        for path in sorted(folder.rglob("*.py")):
            where = str(path.relative_to(WEB if folder == WEB else PROJECT))
            for message in said_in(path.read_text()):
                found.add(message, locations=[(where, None)], flags=("python-brace-format",))
    for word in sorted({*map(str, chain(*WORDS)), *facts(), *(rule.text for rule in standard().rules)}):
        found.add(word, locations=[("engine/words", None)])
    return found


def facts() -> Iterator[str]:
    """What the pages name of the figures they show: their names, units, notes and whose they are."""
    naming = (*WEB.rglob("*.py"), PROJECT / "jobs" / "body.py")
    for name in {name for path in naming for name in SHOWN.findall(path.read_text())}:
        fact = getattr(biology, name)
        if isinstance(fact, Fact):
            yield from filter(None, (fact.name, fact.unit, fact.note))
    yield from (COMMON_PRACTICE.cite, CHOICE.cite)


def said_in(code: str) -> Iterator[str | tuple[str, str]]:
    """The templates of every sentence made in some code; of a choice between two, both.

    Raises `ValueError` at a template that is no literal: a catalogue could not hold it.
    """
    nodes = list(ast.walk(ast.parse(code)))
    known = {a.name for n in nodes if isinstance(n, ast.ImportFrom) and n.module in MAKERS for a in n.names}
    for node in nodes:
        name = getattr(node.func, "id", "") if isinstance(node, ast.Call) else ""
        if not isinstance(node, ast.Call) or name not in SAYING or name not in known:
            continue
        if SAYING[name] == 2:
            one, many = (_literals(arg) for arg in node.args[:2])
            yield one[0], many[0]
        else:
            wordless = name == "joined"
            yield from (t for t in _literals(node.args[0]) if not wordless or any(map(str.isalpha, t)))


def _literals(node: ast.expr) -> list[str]:
    if isinstance(node, ast.IfExp):
        return _literals(node.body) + _literals(node.orelse)
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return [node.value]
    raise ValueError(f"line {node.lineno}: {ast.unparse(node)} is no literal; write the template out")


def catalogue(language: str) -> Catalog:
    """The catalogue of a language as it stands."""
    with (LOCALES / language / "LC_MESSAGES" / "django.po").open("rb") as file:
        return read_po(file, locale=language)


def compiled(kept: Catalog) -> bytes:
    """The catalogue as the pages read it."""
    out = io.BytesIO()
    write_mo(out, kept)
    return out.getvalue()


def translated(message: Message) -> bool:
    """Whether a message, with all its plurals, has its words in the language."""
    said = message.string
    return bool(said) and (isinstance(said, str) or all(said))


def main() -> int:
    """Bring every catalogue up to date; prints how much of each is translated."""
    found = texts()
    for folder in sorted(LOCALES.iterdir()):
        kept, place = catalogue(folder.name), folder / "LC_MESSAGES" / "django"
        kept.update(found, no_fuzzy_matching=True)
        kept.obsolete.clear()
        with place.with_suffix(".po").open("wb") as file:
            write_po(file, kept, width=110, sort_output=True, omit_header=False)
        place.with_suffix(".mo").write_bytes(compiled(kept))
        done = sum(translated(m) for m in kept if m.id)
        print(f"{folder.name}: {done} of {len(kept)} texts are translated")
    return 0


if __name__ == "__main__":
    sys.exit(main())
