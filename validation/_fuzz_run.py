"""One reader fuzzed in a process of its own, under libFuzzer by way of atheris; started by `fuzzing`."""

from __future__ import annotations

import json
import os
import signal
import sys
import time
import traceback
from pathlib import Path

import atheris

SLOW_S = 10.0
MOST_MB = 1024


def main(reader: str, folder: str, seed: str, seconds: str, most_bytes: str) -> None:
    """Fuzz until so many seconds of processor time, a fault, or a wish to stop; `end.json` says which."""
    with atheris.instrument_imports(include=["eggtooth", "openpyxl"], enable_loader_override=False):
        from validation._fuzz_corpus import reader_of
    run, work = reader_of(reader), Path(folder)
    done, limit, start, stop = 0, float(seconds), time.monotonic(), False

    def end(fault: str, data: bytes) -> None:
        used = sum(os.times()[:4])
        clock = time.monotonic() - start
        said = {"executions": done, "processor_s": round(used, 1), "clock_s": round(clock, 1), "fault": fault}
        if fault:
            (work / "fault.bin").write_bytes(data)
        (work / "end.json").write_text(json.dumps(said))
        sys.stderr.flush()
        os._exit(bool(fault))

    def once(data: bytes) -> None:
        nonlocal done
        done += 1
        began = time.process_time()
        try:
            run(data)
        except BaseException:
            end(traceback.format_exc(), data)
        if (took := time.process_time() - began) > SLOW_S:
            end(f"took {took:.0f} s for {len(data)} bytes", data)
        if stop or (done % 16 == 0 and time.process_time() > limit):
            end("", b"")

    def wished(*_: object) -> None:
        nonlocal stop
        stop = True

    options = [
        f"-seed={seed}",
        f"-max_len={most_bytes}",
        f"-dict={work / 'words'}",
        f"-rss_limit_mb={MOST_MB}",
    ]
    more = [f"-timeout={SLOW_S * 12:.0f}", f"-artifact_prefix={work}/", "-print_final_stats=0"]
    more += ["-handle_term=0", "-handle_int=0"]
    signal.signal(signal.SIGTERM, wished)
    atheris.Setup([reader, *options, *more, str(work / "corpus")], once)
    atheris.Fuzz()


if __name__ == "__main__":
    main(*sys.argv[1:])
