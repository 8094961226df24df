"""Run every validation, or those named; exit 1 when one does not hold."""

from __future__ import annotations

import sys
from importlib import import_module
from pathlib import Path


def names() -> list[str]:
    """Every module here that has a `main`."""
    return sorted(p.stem for p in Path(__file__).parent.glob("*.py") if not p.stem.startswith("_"))


if __name__ == "__main__":
    known = names()
    wanted = [w for w in sys.argv[1:] if w in known] or known  # other words are for the module itself
    held = {name: bool(import_module(f"validation.{name}").main()) for name in wanted}
    print("\n".join(f"{'holds' if ok else 'FAILS'}  {name}" for name, ok in held.items()))
    sys.exit(not all(held.values()))
