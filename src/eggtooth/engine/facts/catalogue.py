"""Loads the inheritance catalogue: the data file of this package, a user's file of the same form, and the
settings of the disputed points."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from eggtooth.engine.facts.inheritance import Allele, Catalogue, Disputed, Fate, Locus, Mode, Rule
from eggtooth.engine.facts.sources import BY_KEY, Source, Standing

Table = dict[str, Any]

KEYS = {
    "gene": {
        "name", "mode", "locus", "aliases", "gene", "one_copy", "two_copies", "fate", "subtle", "lines",
        "sex_linked", "disputed", "note", "basis",
    },
    "disputed": {"id", "claim", "gene", "sets", "choices", "default"},
    "caution": {"id", "level", "about", "text", "basis", "genes", "copies", "together"},
}  # fmt: skip
SETS = {"fate", "locus", "same as", "mode"}


class CatalogueError(ValueError):
    """A catalogue file that cannot be used; the message says where and what would be right."""


@cache
def standard() -> Catalogue:
    """The catalogue of this package with every disputed point at its default."""
    return catalogue()


def catalogue(more: str = "", readings: Mapping[str, str] | None = None) -> Catalogue:
    """The catalogue of this package, with a user's TOML text on top and disputed points set as wished.

    Raises `CatalogueError` when the user's text or a reading does not fit.
    """
    data = _parsed(_package_text(), "catalogue.toml")
    own = _parsed(more, "your catalogue file") if more else {}
    return _built(_merged(data, own), dict(readings or {}))


@cache
def _package_text() -> str:
    return files("eggtooth.engine.facts").joinpath("catalogue.toml").read_text("utf-8")


def _parsed(text: str, where: str) -> Table:
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as broken:
        raise CatalogueError(f"{where} is not TOML: {broken}") from None
    for part in data.keys() - {*KEYS, "combinations"}:
        raise CatalogueError(f"{where}: [{part}] is not a part; there are {', '.join(KEYS)}, combinations")
    for part, known in KEYS.items():
        for row in data.get(part, []):
            _known_keys(row, known, part, where)
    return data


def _known_keys(row: Table, known: set[str], part: str, where: str) -> None:
    handle = "name" if part == "gene" else "id"
    if not isinstance(row.get(handle), str) or not row[handle]:
        raise CatalogueError(f"{where}: a [[{part}]] has no {handle}")
    for key in row.keys() - known:
        raise CatalogueError(
            f"{where}: {row[handle]}: {key!r} is not a key; there are {', '.join(sorted(known))}"
        )


def _merged(data: Table, own: Table) -> Table:
    """The user's rows after ours, replacing those of the same name or id where they stood."""
    merged: Table = {"combinations": {**data["combinations"], **own.get("combinations", {})}}
    for part in KEYS:
        handle = "name" if part == "gene" else "id"
        rows = {row[handle]: row for row in data[part]}
        merged[part] = list((rows | {row[handle]: row for row in own.get(part, [])}).values())
    return merged


def _built(data: Table, readings: Mapping[str, str]) -> Catalogue:
    disputed = tuple(_disputed(row) for row in data["disputed"])
    chosen = _chosen(disputed, readings)
    same: dict[str, str] = {}
    genes = _settled({row["name"]: dict(row) for row in data["gene"]}, disputed, chosen, same)
    loci = _loci(genes)
    aliases = same | {alias: g["name"] for g in genes for alias in g.get("aliases", ())}
    found = Catalogue(
        loci,
        dict(data["combinations"]),
        aliases,
        tuple(_rule(row) for row in data["caution"]),
        disputed,
        chosen,
    )
    _check_names(found, genes)
    return found


def _disputed(row: Table) -> Disputed:
    point = Disputed(row["id"], row["claim"], row["gene"], row["sets"], tuple(row["choices"]), row["default"])
    if point.sets not in SETS or point.default not in point.choices:
        raise CatalogueError(
            f"{point.id}: sets one of {', '.join(sorted(SETS))}; its default is one of its choices"
        )
    return point


def _chosen(disputed: Iterable[Disputed], readings: Mapping[str, str]) -> dict[str, str]:
    points = {point.id: point for point in disputed}
    for key, value in readings.items():
        if key not in points:
            raise CatalogueError(f"{key!r} is no disputed point; there are {', '.join(points)}")
        if value not in points[key].choices:
            raise CatalogueError(f"{key} is one of {', '.join(points[key].choices)}, not {value!r}")
    return {key: readings.get(key, point.default) for key, point in points.items()}


def _settled(
    rows: dict[str, Table], disputed: Iterable[Disputed], chosen: Mapping[str, str], same: dict[str, str]
) -> list[Table]:
    """Gene rows with the disputed points applied; alleles held to be another become its aliases in `same`."""
    for point in disputed:
        row, choice = rows.get(point.gene), chosen[point.id]
        if row is None:
            raise CatalogueError(f"{point.id}: there is no gene {point.gene!r}")
        if point.sets == "same as" and choice != "own":
            same.update(dict.fromkeys((point.gene, *row.get("aliases", ())), choice))
            del rows[point.gene]
        elif point.sets == "locus":
            row["locus"] = point.gene if choice == "own" else choice
        elif point.sets in ("fate", "mode"):
            row[point.sets] = choice
    return list(rows.values())


def _loci(genes: Iterable[Table]) -> tuple[Locus, ...]:
    groups: dict[str, list[Table]] = {}
    for row in genes:
        groups.setdefault(str(row.get("locus") or row["name"]), []).append(row)
    return tuple(_locus(name, rows) for name, rows in groups.items())


def _locus(name: str, rows: list[Table]) -> Locus:
    linked = {bool(row.get("sex_linked")) for row in rows}
    lines = any(row.get("lines") for row in rows)
    if len(linked) > 1:
        raise CatalogueError(f"locus {name}: some genes are sex-linked and some are not")
    if lines and len(rows) > 1:
        raise CatalogueError(f"locus {name}: a gene with lines stands alone at its locus")
    gene = "; ".join(dict.fromkeys(row["gene"] for row in rows if row.get("gene")))
    return Locus(name, tuple(_allele(row) for row in rows), linked.pop(), lines, gene)


def _allele(row: Table) -> Allele:
    try:
        mode, fate = Mode(row.get("mode", "")), Fate(row.get("fate", "lives"))
    except ValueError:
        raise CatalogueError(
            f"{row['name']}: mode is one of {', '.join(Mode)} and fate one of {', '.join(Fate)}"
        ) from None
    return Allele(
        row["name"], mode, row.get("one_copy", ""), row.get("two_copies", ""), fate,
        row.get("subtle", False), tuple(row.get("aliases", ())), row.get("disputed", False),
        row.get("note", ""), _sources(row),
    )  # fmt: skip


def _rule(row: Table) -> Rule:
    if row.get("level") not in ("block", "warn") or row.get("about") not in ("offspring", "dam", "sire"):
        raise CatalogueError(f"{row['id']}: level is block or warn, about is offspring, dam or sire")
    return Rule(
        row["id"], row["level"], row["about"], row["text"], _sources(row), tuple(row.get("genes", ())),
        row.get("copies", 1), tuple(tuple(pair) for pair in row.get("together", ())),
    )  # fmt: skip


def _sources(row: Table) -> tuple[Source, ...]:
    """Known sources by key; a user may name one of his own in words."""
    return tuple(
        BY_KEY.get(key) or Source(key, "as named in your catalogue file", Standing.CHOICE)
        for key in row.get("basis", ["common practice"])
    )


def _check_names(found: Catalogue, genes: Iterable[Table]) -> None:
    """Every rule and combination speaks of genes there are, and no name means two things."""
    seen: dict[str, str] = {}
    for name, means in [*((a, a) for a in found.home), *found.aliases.items()]:
        if seen.setdefault(name.casefold(), means) != means:
            raise CatalogueError(f"{name!r} names both {seen[name.casefold()]} and {means}")
    for rule in found.rules:
        for gene in (*rule.genes, *(g for pair in rule.together for g in pair)):
            if gene not in found.home and gene not in found.aliases:
                raise CatalogueError(f"caution {rule.id}: there is no gene {gene!r}")
