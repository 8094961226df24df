"""Runs every module here that has a `main()`; name some to run only these."""

from __future__ import annotations

import sys
from importlib import import_module
from pathlib import Path


def names() -> list[str]:
    """The modules of this folder that can be run."""
    return sorted(p.stem for p in Path(__file__).parent.glob("*.py") if "\ndef main(" in p.read_text("utf-8"))


def run(wanted: list[str]) -> int:
    """Run them in turn; 1 if one missed its mark (its `main()` returned something true)."""
    missed, known = False, names()
    for name in [w for w in wanted if w in known] or known:  # other words are for the module itself
        print(f"== {name}", flush=True)
        missed |= bool(import_module(f"benchmarks.{name}").main())
    return int(missed)


if __name__ == "__main__":
    sys.exit(run(sys.argv[1:]))
