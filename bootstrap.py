"""Set up .venv from the pinned requirements, only when they changed, then run one task.

Standard library only, and written to fail clearly on an old Python.
"""

import hashlib
import os
import pathlib
import shutil
import subprocess
import sys
import venv

if sys.version_info < (3, 11):  # noqa: UP036  the point is to say so on an older one
    here = sys.version.split()[0]
    sys.exit(f"Eggtooth needs Python 3.11 or newer; this is {here}. Try: make PYTHON=python3.11 setup")


ROOT = pathlib.Path(__file__).resolve().parent
ENV = ROOT / ".venv"
PINS = ROOT / "requirements" / "dev.txt"
BIN = ENV / ("Scripts" if os.name == "nt" else "bin")
PY = BIN / ("python.exe" if os.name == "nt" else "python")
STAMP = ENV / ".stamp"

TASKS = {
    "setup": [],
    "demo": [["-m", "eggtooth", "demo"]],
    "test": [
        ["-m", "ruff", "check", "."],
        ["-m", "ruff", "format", "--check", "."],
        ["-m", "mypy"],
        ["-c", "from importlinter.cli import lint_imports_command as l; l()"],
        ["-m", "pytest", "-n", "2"],
    ],
    "check": [["-m", "ruff", "check", "."], ["-m", "mypy"]],
    "bench": [["-m", "benchmarks"]],
    "validate": [["-m", "validation"]],
    "shots": [["-m", "tests.shots"]],
    "words": [["-m", "tests.catalogue"]],
}


def run(*args: object) -> None:
    """Run a command in the project folder; stop if it fails."""
    subprocess.run([str(a) for a in args], check=True, cwd=ROOT)


def set_up() -> None:
    """Make .venv with exactly the pinned packages and the project itself, unless it is there already."""
    seen = PINS.read_bytes() + (ROOT / "pyproject.toml").read_bytes() + (sys.version + str(ROOT)).encode()
    wanted = hashlib.sha256(seen).hexdigest()
    if STAMP.exists() and STAMP.read_text() == wanted:
        return
    print("Setting up .venv (once) …", flush=True)
    uv = shutil.which("uv")
    venv.create(ENV, with_pip=not uv, clear=True)
    pip = [uv, "pip", "install", "--python", PY, "--compile-bytecode"] if uv else [PY, "-m", "pip", "install"]
    quiet = ["-q"] if uv else ["-q", "--disable-pip-version-check", "--no-input"]
    run(*pip, *quiet, "--require-hashes", "-r", PINS)
    run(*pip, *quiet, "--no-deps", "--no-build-isolation", "-e", ".")
    run(
        PY, "-m", "compileall", "-q", "src"
    )  # once, so that each start is quick where bytecode is not written
    STAMP.write_text(wanted)


def main() -> int:
    """Entry point: `python bootstrap.py TASK`."""
    task = sys.argv[1] if len(sys.argv) > 1 else "setup"
    if task not in TASKS:
        print(f"No task {task!r}; there are: {', '.join(TASKS)}", file=sys.stderr)
        return 2
    try:
        set_up()
    except subprocess.CalledProcessError as failed:
        print(f"Set-up stopped: {failed}. Nothing else was changed; run it again.", file=sys.stderr)
        return 1
    for step in TASKS[task]:
        try:
            code = subprocess.call([str(PY), *step], cwd=ROOT)
        except KeyboardInterrupt:
            return 0
        if code:
            return code
    return 0


if __name__ == "__main__":
    sys.exit(main())
