"""How soon `eggtooth --help` answers, against a Python that only imports json."""

from __future__ import annotations

import sys
from statistics import median

from benchmarks.rounds import seconds

RUNS = 15


def main() -> None:
    """Print both times (median of alternating runs) and their ratio."""
    plain, asked = [sys.executable, "-c", "import json"], [sys.executable, "-m", "eggtooth", "--help"]
    times = [(seconds(plain), seconds(asked)) for _ in range(RUNS)]
    json_s, help_s = (median(t[i] for t in times) for i in (0, 1))
    print(f"--help {help_s * 1000:.0f} ms; import json {json_s * 1000:.0f} ms")
    print(f"ratio {help_s / json_s:.2f} (wanted: at most 3)")


if __name__ == "__main__":
    main()
