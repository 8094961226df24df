"""`eggtooth carriers`: who carries what, given everything known."""

from __future__ import annotations

import argparse
import json
import sys
from typing import Any

from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.engine.facts.inheritance import Genotype, Locus
from eggtooth.engine.pedigree.carriers import Carriers
from eggtooth.engine.pedigree.evidence import Rates
from eggtooth.jobs.kin import who_carries

LEAST_SHOWN = 0.0005


def share(text: str) -> float:
    """A share between 0 and 1, also as `2%`."""
    try:
        value = float(text.rstrip("%")) / (100 if text.endswith("%") else 1)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a share; write it like 0.02 or 2%") from None
    if not 0 <= value < 1:
        raise argparse.ArgumentTypeError(f"{text!r} is not between 0 and 1")
    return value


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    add_source_options(parser)
    add_rate_options(parser)
    parser.add_argument("--animal", action="append", metavar="TAG", help="only this animal (may be repeated)")
    parser.add_argument(
        "--seed", type=int, default=0, help="seed where families are too tangled to be exact (0)"
    )


def add_rate_options(parser: argparse.ArgumentParser) -> None:
    """How far records are trusted, and how clutches with several candidate sires are taken."""
    usual = Rates()
    rates = parser.add_argument_group("how far records are trusted")
    rates.add_argument(
        "--look-error", type=share, default=usual.look_error, metavar="P", help="a noted look is wrong (0)"
    )
    rates.add_argument(
        "--test-error",
        type=share,
        default=usual.test_error,
        metavar="P",
        help="a laboratory is wrong where it states no rate (0)",
    )
    rates.add_argument(
        "--test-misses",
        type=share,
        metavar="P",
        help="a laboratory finds no copy of a gene that is there (half of --test-error)",
    )
    rates.add_argument(
        "--test-invents",
        type=share,
        metavar="P",
        help="a laboratory finds a gene that is not there (as --test-error)",
    )
    rates.add_argument(
        "--mistake",
        type=share,
        default=usual.mistake,
        metavar="P",
        help="a record found in a contradiction is wrong (0.001)",
    )
    rates.add_argument(
        "--recombination",
        type=share,
        default=usual.recombination,
        metavar="P",
        help="in males, at a sex-linked locus (0.07)",
    )
    rates.add_argument(
        "--per-egg", action="store_true", help="each egg may have its own sire, not one for the clutch"
    )


def rates_of(asked: argparse.Namespace) -> Rates:
    """The rates asked for. Leaves with 2 when they cannot be true together."""
    try:
        return Rates(
            asked.look_error,
            asked.mistake,
            asked.test_error,
            asked.recombination,
            asked.test_misses,
            asked.test_invents,
        )
    except ValueError as wrong:
        print(f"eggtooth: {wrong}", file=sys.stderr)
        raise SystemExit(2) from None


def run(asked: argparse.Namespace) -> int:
    """Print who carries what."""
    source = source_of(asked)
    found = who_carries(source.colony, day_of(asked), rates_of(asked), asked.per_egg, asked.seed)
    tags = [t for t in found.evidence.colony.animals if not asked.animal or t in asked.animal]
    if asked.json:
        print(json.dumps({"on": day_of(asked).isoformat(), **as_json(found, tags)}, ensure_ascii=False))
    else:
        show(found, tags)
    return 0


def as_json(found: Carriers, tags: list[str]) -> dict[str, Any]:
    """The whole answer; loci where an animal is surely +/+ are left out."""
    return {
        "animals": [{"tag": t, "loci": _loci_json(found, t), "claims": _claims(found, t)} for t in tags],
        "contradictions": [
            {"locus": c.locus, "tags": list(c.tags), "text": c.text} for c in found.contradictions
        ],
        "sampled": [{"locus": n, "tags": list(a.tangled)} for n, a in found.loci.items() if a.tangled],
        "clutches_one_at_a_time": found.linked,
    }


def _loci_json(found: Carriers, tag: str) -> list[dict[str, Any]]:
    out = []
    for locus, odds in found.animal(tag):
        entry: dict[str, Any] = {"locus": locus.name, "genotypes": by_text(locus, odds)}
        error = found.error(tag, locus.name)
        if error:
            entry["error"] = error
        makers = male_maker(locus, odds)
        if makers is not None:
            entry["male_maker"] = makers
        out.append(entry)
    return out


def by_text(locus: Locus, odds: dict[Genotype, float]) -> list[dict[str, Any]]:
    """Genotypes as they are written, likeliest first; the two phases of a male are one line."""
    out: dict[str, float] = {}
    for genotype, p in odds.items():
        out[locus.text(genotype)] = out.get(locus.text(genotype), 0.0) + p
    return [{"genotype": g, "p": min(p, 1.0)} for g, p in sorted(out.items(), key=lambda x: (-x[1], x[0]))]


def male_maker(locus: Locus, odds: dict[Genotype, float]) -> float | None:
    """Of a male with one copy at a sex-linked locus: the chance that it sits on his Y. None for others."""
    if not locus.sex_linked:
        return None
    on_y = sum(p for g, p in odds.items() if g.a == 0 != g.b)
    on_x = sum(p for g, p in odds.items() if g.b == 0 != g.a)
    return on_y / (on_x + on_y) if on_x else (1.0 if on_x + on_y and _is_male(odds) else None)


def _is_male(odds: dict[Genotype, float]) -> bool:
    return any(g.a > g.b for g in odds)


def _claims(found: Carriers, tag: str) -> list[dict[str, Any]]:
    """Claims such as `66% het` that were not counted, because the pedigree says what it says."""
    evidence = found.evidence
    if evidence.sire[found.skeleton.position[tag]] < 0:
        return []
    return [
        {
            "locus": c.locus.name,
            "gene": c.locus.alleles[c.allele - 1].name,
            "p": None if c.p is None else float(c.p),
        }
        for c in evidence.statements[tag].claims
    ]


def show(found: Carriers, tags: list[str]) -> None:
    """A table for people: what each animal surely has, may have, and what was claimed."""
    from rich.console import Console
    from rich.table import Table

    console = Console()
    table = Table(box=None, padding=(0, 1), header_style="dim")
    for name in ("animal", "surely", "maybe", "on paper"):
        table.add_column(name, overflow="fold")
    for tag in tags:
        sure, maybe = _sure_and_maybe(found, tag)
        claims = [
            f"{'possible' if c['p'] is None else format(c['p'], '.0%')} het {c['gene']}"
            for c in _claims(found, tag)
        ]
        if sure or maybe or claims:
            table.add_row(tag, ", ".join(sure), ", ".join(maybe), ", ".join(claims))
    console.print(table if table.row_count else "Nobody carries anything that was noted.")
    _show_notes(found)


def _sure_and_maybe(found: Carriers, tag: str) -> tuple[list[str], list[str]]:
    sure, maybe = [], []
    for locus, odds in found.animal(tag):
        settled = found.settled(tag, locus.name)
        for line in by_text(locus, odds):
            if line["p"] >= 1 - 1e-12:
                sure.append(line["genotype"])
            elif line["genotype"] != "+/+" and (line["p"] >= LEAST_SHOWN or not settled):
                share = percent(line["p"], found.error(tag, locus.name)) if settled else "not settled"
                maybe.append(f"{line['genotype']} {share}")
    return sure, maybe


def percent(p: float, error: float = 0.0) -> str:
    """A chance for people; sampled ones with twice their standard error."""
    text = f"{p:.1%}" if 0.001 <= p <= 0.999 else f"{p:.2g}" if p < 0.5 else ">99.9%"
    return f"{text} ± {2 * error:.1%}" if error else text


def _show_notes(found: Carriers) -> None:
    from rich.console import Console

    console = Console()
    for c in found.contradictions:
        console.print(f"[bold red]Cannot be[/] {c.text}", highlight=False)
    for name, answer in found.loci.items():
        if answer.tangled:
            first = ", ".join(answer.tangled[:5])
            console.print(
                f"[dim]{name}: the family of {first} … ({len(answer.tangled)} breeders) is too tangled for "
                "an exact answer; its odds are sampled, ± is twice the standard error. Not settled: "
                "the runs do not agree on the animal.[/]"
            )
