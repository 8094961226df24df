"""What all records of a colony speak of, by locus; for a colony that grew, only what is new is read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from eggtooth.engine.colony import Animal, Colony
from eggtooth.engine.entries import Entry, LabTest
from eggtooth.engine.facts.inheritance import Catalogue, Locus
from eggtooth.engine.genetics.statement import Statement
from eggtooth.engine.pedigree.spoken import AtLocus, allele_of, at_loci, read_text, tests_of


class Mentions:
    """The records read once.

    `statements` by tag; `tests` by tag; `named`: alleles each animal's records name, by locus name and tag;
    `words`: what its text says, likewise; `by_name`: the loci; `changed`: tags that are new or other than
    `before` (None: all was read).
    """

    def __init__(self, colony: Colony, catalogue: Catalogue, before: Mentions | None = None) -> None:
        """Read the texts. Raises `NotationError` for one that cannot be read."""
        self.catalogue, self.animals = catalogue, colony.animals
        self.tests: Mapping[str, list[tuple[Entry, LabTest, Locus]]] = tests_of(colony, catalogue)
        self.changed = _changed(colony.animals, self.tests, before) if before else None
        self.named: dict[str, dict[str, frozenset[int]]] = {}
        self.words: dict[str, dict[str, AtLocus]] = {}
        self.by_name: dict[str, Locus] = {}
        self.statements: dict[str, Statement] = {}
        self._own: set[str] = set()
        if before and self.changed is not None:
            self._forget(before, self.changed)
        fresh = colony.animals if self.changed is None else self.changed
        for tag in fresh:
            self.statements[tag] = read_text(colony.animals[tag].genes, catalogue)
        self._note(fresh)

    def _forget(self, before: Mentions, changed: Iterable[str]) -> None:
        """Take over all but the changed animals; dictionaries are shared until something is written to
        them."""
        self.named, self.words = dict(before.named), dict(before.words)
        self.by_name, self.statements = dict(before.by_name), dict(before.statements)
        for tag in changed:
            for name in before.loci_of(tag):
                self._write_to(name)
                self.named[name].pop(tag, None)
                self.words[name].pop(tag, None)
        for name in [name for name in self._own if not self.named[name]]:
            del self.named[name], self.words[name], self.by_name[name]
            self._own.discard(name)

    def _write_to(self, name: str) -> None:
        if name not in self._own:
            self._own.add(name)
            self.named[name] = dict(self.named.get(name, {}))
            self.words[name] = dict(self.words.get(name, {}))

    def _note(self, tags: Iterable[str]) -> None:
        for tag in tags:
            for locus, at_locus, alleles in at_loci(self.statements[tag]):
                self._write_to(locus.name)
                self.by_name[locus.name] = locus
                self.named[locus.name][tag] = alleles
                self.words[locus.name][tag] = at_locus
        for tag in tags if len(self.tests) else ():
            for _, test, locus in self.tests.get(tag, ()):
                self._write_to(locus.name)
                self.by_name[locus.name] = locus
                allele = locus.index(allele_of(test, locus, self.catalogue))
                named = self.named[locus.name]
                named[tag] = named.get(tag, frozenset()) | {allele}

    def loci_of(self, tag: str) -> set[str]:
        """Names of the loci that an animal's own records speak of; empty for one not here."""
        statement = self.statements.get(tag)
        spoken = {locus.name for locus, _, _ in at_loci(statement)} if statement else set()
        return spoken | {locus.name for _, _, locus in self.tests.get(tag, ())}


def _changed(
    animals: Mapping[str, Animal],
    tests: Mapping[str, list[tuple[Entry, LabTest, Locus]]],
    before: Mentions,
) -> list[str] | None:
    """Tags that are new or recorded otherwise; None when an animal is gone."""
    old = before.animals
    if any(tag not in animals for tag in old):
        return None
    changed = [tag for tag, a in animals.items() if (was := old.get(tag)) is not a and was != a]
    tested = [tag for tag in {*tests, *before.tests} if tests.get(tag) != before.tests.get(tag)]
    return list(dict.fromkeys([*changed, *tested]))
