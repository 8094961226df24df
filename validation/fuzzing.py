"""Every reader of what others write, fuzzed by coverage.

`python -m validation fuzzing READER --hours 1 --seed 1`; with `--replay` the seeds and every input mended
before go through the same functions, without atheris. With `--keep FOLDER` a later run goes on from the
inputs of the former, and says the hours of all runs since the last fault. SIGTERM ends a run with its
figures.

Needs atheris (`pip install --require-hashes -r requirements/fuzzing.txt`). Without a reader all are tried for
two minutes each. Hours are of the processor, not of the clock. A fault is any exception that is not the
reader's own refusal, a refusal without words or place, more than 10 s or 1 GB, a house changed by what was
refused, or what was taken and does not read back the same; the input is written beside the log.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import re
import subprocess
import sys
import tempfile
import traceback
from pathlib import Path
from typing import Any

from validation._fuzz_corpus import READERS, seeds, words

SHORT_HOURS = 2 / 60
STATS = re.compile(rb"cov: (\d+) ft: (\d+) corp: (\d+)/")


def main() -> bool:
    """Fuzz; whether no fault was found."""
    asked = [w for w in sys.argv[1:] if w != "fuzzing"]
    said, rest = _parser().parse_known_args(asked if "fuzzing" in sys.argv else [])
    readers = [w for w in rest if w in READERS] or list(READERS)
    if said.replay:
        held = [replay(reader) for reader in readers]
        return all(held)
    if importlib.util.find_spec("atheris") is None and "fuzzing" not in sys.argv:
        print("fuzzing: atheris is not here, so what is known is replayed and nothing new is tried")
        return all([replay(reader) for reader in readers])  # noqa: C419  all are tried, whatever the first says
    if importlib.util.find_spec("atheris") is None:
        print("fuzzing: atheris is not here: pip install --require-hashes -r requirements/fuzzing.txt")
        return False
    held = [fuzz(reader, said.hours, said.seed, said.keep) for reader in readers]
    return all(held)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m validation fuzzing")
    parser.add_argument("--hours", type=float, default=SHORT_HOURS, help="of the processor, for each reader")
    parser.add_argument("--seed", type=int, default=1, help="the same seed tries the same inputs")
    parser.add_argument("--keep", type=Path, help="a folder to go on from, and to keep the inputs in")
    parser.add_argument("--replay", action="store_true", help="only what is known already; needs no atheris")
    return parser


def replay(reader: str) -> bool:
    """The seeds and the mended inputs of a reader; whether no fault was found."""
    known, faults = seeds(reader), 0
    for data in known:
        try:
            READERS[reader][0](data)
        except Exception:
            faults += 1
            print(f"{reader}: {data[:200]!r}\n{traceback.format_exc()[-1500:]}")
    print(f"{reader}: {len(known)} inputs replayed, faults {faults}")
    return not faults


def fuzz(reader: str, hours: float, seed: int, keep: Path | None = None) -> bool:
    """Fuzz one reader in a process of its own; prints the figures. Whether no fault was found."""
    work = keep / reader if keep else Path(tempfile.mkdtemp(prefix=f"fuzz-{reader}-"))
    _lay_out(work, reader)
    asked = [reader, str(work), str(seed), str(hours * 3600), str(READERS[reader][1])]
    command = [sys.executable, "-m", "validation._fuzz_run", *asked]
    with (work / "log").open("wb") as log:
        code = subprocess.run(command, stdout=log, stderr=subprocess.STDOUT, check=False).returncode
    end = work / "end.json"
    said = json.loads(end.read_text()) if end.exists() else {"fault": "it ended without a word: see the log"}
    print(_figures(reader, work, said, bool(code)) + f", seed {seed}")
    if code:
        print(f"{said['fault'][-1500:]}\nthe input and the log are in {work}")
    sys.stdout.flush()
    return code == 0


def _figures(reader: str, work: Path, said: dict[str, Any], faulty: bool) -> str:
    """The figures of this run and of all runs since the last fault, which are kept anew."""
    found = STATS.findall((work / "log").read_bytes()) or [(b"0", b"0", b"0")]
    edges, features, corpus = map(int, found[-1])
    kept = work / "runs.json"
    runs = [*(json.loads(kept.read_text()) if kept.exists() else []), said]
    kept.write_text(json.dumps([] if faulty else runs))
    reached = f"{edges} edges, {features} features, corpus {corpus}"
    text = f"{reader}: {_spent([said])}, {reached}, faults {int(faulty)}"
    return text if len(runs) == 1 else f"{text}; {len(runs)} runs since the last fault: {_spent(runs)}"


def _spent(runs: list[dict[str, Any]]) -> str:
    sums = (sum(run.get(k, 0) for run in runs) for k in ("executions", "processor_s", "clock_s"))
    tries, processor, clock = sums
    return f"{tries:,} executions in {processor / 60:.1f} processor minutes ({clock / 60:.0f} by the clock)"


def _lay_out(work: Path, reader: str) -> None:
    (work / "corpus").mkdir(parents=True, exist_ok=True)
    (work / "end.json").unlink(missing_ok=True)
    for n, data in enumerate(seeds(reader)):
        (work / "corpus" / f"seed{n:03}").write_bytes(data)
    quoted = ("".join(f"\\x{byte:02x}" for byte in word) for word in words(reader))
    (work / "words").write_text("".join(f'"{word}"\n' for word in quoted))
