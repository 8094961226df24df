"""Ask whether known faults of the pinned packages are published: `.venv/bin/python .ci/audit.py`.

Exit 1 where an advisory was found, 0 otherwise. Where it could not ask (no network, or a registry without
advisories) it says so plainly and does not fail: "not asked" is not "nothing found".
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SECONDS = "20"
NOT_ASKED = "could not be asked about"


def judge(document: str) -> tuple[list[str], list[str], int]:
    """Advisories found, packages that could not be asked about, and how many were. Raises `ValueError`."""
    packages = json.loads(document)["dependencies"]
    found = [f"{p['name']} {p['version']}: {v['id']}" for p in packages for v in p.get("vulns", [])]
    skipped = [p["name"] for p in packages if "skip_reason" in p]
    return found, skipped, len(packages) - len(skipped)


def asked(tool: Path, pins: Path) -> str:
    """What pip-audit answers for one file of pins; nothing where it broke off."""
    command = [tool, "--disable-pip", "--no-deps", "--timeout", SECONDS, "-f", "json", "-r", pins]
    return subprocess.run(list(map(str, command)), capture_output=True, text=True, check=False).stdout


def main() -> int:
    """Entry point."""
    with tempfile.TemporaryDirectory() as folder:
        venv.create(folder, with_pip=True)
        tool = Path(folder) / "bin"
        pip = [tool / "pip", "install", "-q", "--disable-pip-version-check", "pip-audit"]
        if subprocess.run(pip, check=False, capture_output=True).returncode:
            print(f"pip-audit cannot be installed here; the advisories {NOT_ASKED} any package")
            return 0
        pins = sorted((ROOT / "requirements").glob("*.txt"))
        return max(told(file.name, asked(tool / "pip-audit", file)) for file in pins)


def told(name: str, document: str) -> int:
    """Say what one answer means; 1 where it names an advisory."""
    try:
        found, skipped, count = judge(document)
    except (ValueError, KeyError):
        print(f"{name}: the advisories {NOT_ASKED} any package (no network?)")
        return 0
    print(f"{name}: {count} packages asked about, {len(found)} advisories")
    if skipped:
        print(f"{name}: the advisories {NOT_ASKED} {len(skipped)} packages: {', '.join(skipped)}")
    for line in found:
        print(f"  {line}")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
