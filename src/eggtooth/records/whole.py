"""Small files that are there whole or not at all, also when the power goes. Knows nothing of Django."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path


def to_disk(path: Path) -> None:
    """Past the machine's caches, so that a power cut does not take it."""
    if os.name == "nt" and path.is_dir():
        return  # Windows opens no folders, and keeps names in order without
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def put_whole(path: Path, content: bytes, mode: int) -> None:
    """Write a file in the place of a former one."""
    making = _written(path, content, mode)
    making.replace(path)
    to_disk(path.parent)


def put_once(path: Path, content: bytes, mode: int) -> None:
    """Write a file unless it is there; of two who do so at once one is first, and the other leaves it."""
    if path.exists() and path.stat().st_size:
        return
    making = _written(path, content, mode)
    try:
        if path.exists():  # nothing in it: the power went while it was made by an older Eggtooth
            making.replace(path)
        else:
            _linked(making, path)
    finally:
        making.unlink(missing_ok=True)
    to_disk(path.parent)


def _linked(making: Path, path: Path) -> None:
    with suppress(FileExistsError):
        try:
            os.link(making, path)
        except (PermissionError, NotImplementedError):  # a file system without second names
            making.rename(path)


def _written(path: Path, content: bytes, mode: int) -> Path:
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    with os.fdopen(handle, "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    Path(name).chmod(mode)
    return Path(name)
