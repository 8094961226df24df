"""What a disk may hold after the power goes: writes that were synced, and any part of those that were not.

A process is recorded by strace; its calls are played on a model of the disk. A write counts for certain once
its file was synced after it, and a name (made, changed, taken away) once its folder was. Before that each
sector of 512 bytes may have reached the disk or not, whatever came before it; names go in their order, as a
file system's journal keeps them. Folders themselves are taken as there.
"""

from __future__ import annotations

import random
import re
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

SECTOR = 512
CALLS = (
    "openat,open,creat,write,pwrite64,pwritev,pwritev2,writev,fsync,fdatasync,sync_file_range,ftruncate,truncate,"
    "fallocate,rename,renameat,renameat2,unlink,unlinkat,link,linkat,copy_file_range,sendfile,mmap"
)
UNSEEN = {"pwritev", "pwritev2", "writev", "truncate", "fallocate", "copy_file_range", "sendfile"}
"""Ways to write that the model does not play; a record with one of them on our files is refused."""


class NoStrace(Exception):
    """strace is not installed here, or may not trace."""


class Unplayable(Exception):
    """The record holds something the model knows nothing of."""


class Call(NamedTuple):
    """One call that succeeded: its name, the file it is about, and the rest of its arguments."""

    name: str
    path: str
    words: str
    result: str


def recorded(command: Sequence[str], log: Path, environment: dict[str, str], stdin: str) -> None:
    """Run a command under strace. Raises `NoStrace`."""
    if not shutil.which("strace"):
        raise NoStrace("strace is not installed: apt-get install strace")
    words = ["strace", "-f", "-y", "-xx", "-s", "2000000", "-e", f"trace={CALLS}", "-o", str(log), *command]
    done = subprocess.run(words, env=environment, input=stdin, capture_output=True, text=True, check=False)
    if "ptrace" in done.stderr and done.returncode:
        raise NoStrace(f"strace may not trace here: {done.stderr.strip().splitlines()[-1]}")
    if done.returncode:
        raise RuntimeError(f"the recorded process failed: {done.stderr[-2000:]}")


LINE = re.compile(r"(\d+) +(\w+)\((.*)\) += (-?\w+)(?:<(.*)>)?(?: .*)?$")
PART = re.compile(r"(\d+) +<\.\.\. \w+ resumed>(.*)$")
HANDLE = re.compile(r"-?\d+<([^>]*)>(?:, )?(.*)$")
TEXT = re.compile(r'"((?:\\x[0-9a-f]{2})*)"')


def calls(log: Path) -> Iterator[Call]:
    """The calls of a record in the order they ended, those that failed left out."""
    begun: dict[str, str] = {}
    with log.open(encoding="ascii") as lines:
        for line in lines:
            if line.rstrip().endswith("<unfinished ...>"):
                begun[line.split()[0]] = line.rstrip().removesuffix("<unfinished ...>")
                continue
            if resumed := PART.match(line):
                line = begun.pop(resumed[1]) + resumed[2]
            if (found := LINE.match(line.rstrip())) and not found[4].startswith("-"):
                yield _call(*found.groups()[1:])


def _call(name: str, words: str, result: str, opened: str | None) -> Call:
    if name in ("openat", "open", "creat"):
        return Call(name, _plain(opened or ""), words, result)
    handle = HANDLE.match(words)
    if name == "mmap":
        at = re.search(r"\d+<([^>]*)>", words)
        return Call(name, _plain(at[1]) if at else "", words, result)
    if handle and name not in ("renameat", "renameat2", "unlinkat", "linkat"):
        return Call(name, _plain(handle[1]), handle[2], result)
    return Call(name, "", words, result)


def _plain(text: str) -> str:
    return _bytes(text).decode() if text.startswith("\\x") else text


def _bytes(text: str) -> bytes:
    return bytes.fromhex(text.replace("\\x", ""))


@dataclass
class File:
    """What is on the disk of a file for certain, and what came after: (offset, bytes), or a new length."""

    sure: bytearray = field(default_factory=bytearray)
    since: list[tuple[int, bytes | None]] = field(default_factory=list)

    def sync(self) -> None:
        """Everything is on the disk."""
        for offset, data in self.since:
            _apply(self.sure, offset, data)
        self.since.clear()

    def torn(self, chance: random.Random, share: float) -> bytes:
        """What may be there after a cut: of what came after the last sync each sector with this chance."""
        found = bytearray(self.sure)
        for offset, data in self.since:
            if data is None:
                if chance.random() < share:
                    _apply(found, offset, None)
                continue
            at = 0
            while at < len(data):
                size = SECTOR - (offset + at) % SECTOR
                if chance.random() < share:
                    _apply(found, offset + at, data[at : at + size])
                at += size
        return bytes(found)


def _apply(content: bytearray, offset: int, data: bytes | None) -> None:
    if data is None:
        del content[offset:]
        content.extend(bytes(offset - len(content)))
        return
    content.extend(bytes(max(0, offset - len(content))))
    content[offset : offset + len(data)] = data


class Disk:
    """The files below one folder, as a process sees them and as they are on the disk."""

    def __init__(self, folder: Path, forgetful: bool = False) -> None:
        """Empty. `forgetful`: a disk that says it has synced and has not, to see that this would be found."""
        self.folder, self.forgetful = str(folder), forgetful
        self.now: dict[str, File] = {}
        self.sure: dict[str, File] = {}
        self.names: list[tuple[str, File | None]] = []
        self.places: dict[str, int] = {}

    def play(self, call: Call) -> None:
        """One call. Raises `Unplayable`."""
        if call.name in ("rename", "renameat", "renameat2", "link", "linkat"):
            self._named(call)
        elif call.name in ("unlink", "unlinkat"):
            self._name(_paths(call.words)[-1], None)
        elif call.path == self.folder or call.path.startswith(f"{self.folder}/"):
            self._on_file(call)

    def _on_file(self, call: Call) -> None:
        path, name = call.path.removesuffix(" (deleted)"), call.name
        if path.endswith("-shm"):
            return  # made anew by whoever opens the store after a cut
        if name in UNSEEN or (name == "mmap" and "PROT_WRITE" in call.words and "MAP_SHARED" in call.words):
            raise Unplayable(f"{name} on {path}")
        if name in ("openat", "open", "creat"):
            self._opened(path, call)
        elif name in ("fsync", "fdatasync"):
            self._synced(path)
        elif name == "ftruncate":
            self.now[path].since.append((int(call.words), None))
        elif name in ("write", "pwrite64"):
            self._written(path, call)

    def _opened(self, path: str, call: Call) -> None:
        self.places[f"{path} {call.result}"] = 0
        if "O_CREAT" in call.words and path not in self.now:
            self._name(path, File())
        if "O_TRUNC" in call.words and path in self.now:
            self.now[path].since.append((0, None))

    def _written(self, path: str, call: Call) -> None:
        text = TEXT.search(call.words)
        assert text
        data, file = _bytes(text[1]), self.now[path]
        assert len(data) == int(call.result), "the record is cut short"
        if call.name == "pwrite64":
            file.since.append((int(call.words.rsplit(", ", 1)[1]), data))
        else:  # after what was written before; our files are written so from their beginning only
            end = len(file.sure)
            for offset, piece in file.since:
                end = offset if piece is None else max(end, offset + len(piece))
            file.since.append((end, data))

    def _synced(self, path: str) -> None:
        if self.forgetful:
            return
        if path in self.now:
            self.now[path].sync()
            return
        mine = [change for change in self.names if str(Path(change[0]).parent) == path]
        for name, file in mine:
            _rename(self.sure, name, file)
        self.names = [change for change in self.names if change not in mine]

    def _named(self, call: Call) -> None:
        before, after = _paths(call.words)
        if before in self.now:
            file = self.now[before]
            self._name(after, file)
            if call.name.startswith("rename"):
                self._name(before, None)

    def _name(self, path: str, file: File | None) -> None:
        if path.startswith(f"{self.folder}/") and not path.endswith("-shm"):
            _rename(self.now, path, file)
            self.names.append((path, file))

    def cut(self, to: Path, chance: random.Random) -> None:
        """Write the files into a folder as they may be when the power goes now."""
        names, share = dict(self.sure), chance.choice((0.0, 0.2, 0.5, 0.8, 1.0))
        for path, file in self.names[: chance.randrange(len(self.names) + 1)]:
            _rename(names, path, file)
        for path, there in names.items():
            file_to = to / Path(path).relative_to(self.folder)
            file_to.parent.mkdir(parents=True, exist_ok=True)
            file_to.write_bytes(there.torn(chance, share))


def _rename(names: dict[str, File], path: str, file: File | None) -> None:
    if file is None:
        names.pop(path, None)
    else:
        names[path] = file


def _paths(words: str) -> list[str]:
    return [_bytes(text).decode() for text in TEXT.findall(words)]
