"""Photos of animals: what is kept of them, who may do what, and that whatever carries the store carries them.

The segments of a JPEG are those of ITU-T T.81 (1992), annex B; where a camera writes what it knows is Exif
(CIPA DC-008), whose orientation 6 says that the first row of the file is the right side of the picture.
"""

from __future__ import annotations

import io
import json
import re
import struct
import zlib
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from PIL import Image, ImageDraw
from validation._postgres import NoServer, server

from eggtooth.cli import main
from eggtooth.jobs import backing_up
from eggtooth.jobs.photo import KEPT_BYTES, LONGEST_SIDE_PX, Unfit, fit
from eggtooth.records import models, people, photos, store
from eggtooth.records.people import Role
from tests.test_web_round_page import HERE, client, room

__all__ = ["client", "room"]
ON = date(2026, 1, 13)
PLACE = b"52.5 north"
in_a_room = pytest.mark.usefixtures("fresh_store", "room")


@pytest.fixture(autouse=True)
def day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("EGGTOOTH_TODAY", ON.isoformat())


def picture(form: str = "JPEG", size: tuple[int, int] = (640, 400), turned: int = 0, **said: Any) -> bytes:
    """Red on top, blue below, as a file."""
    image = Image.new("RGB", size, "blue")
    ImageDraw.Draw(image).rectangle((0, 0, size[0], size[1] // 2), "red")
    if turned:
        exif = image.getexif()
        exif[0x0112], exif[0x010E] = turned, PLACE.decode()
        exif.get_ifd(0x8825).update({1: "N", 2: (52.0, 30.0, 0.0), 3: "E", 4: (13.0, 24.0, 0.0)})
        said["exif"] = exif
    image.save(to := io.BytesIO(), form, **said)
    return to.getvalue()


def segments(jpeg: bytes) -> set[int]:
    """The markers before the picture itself."""
    assert jpeg[:2] == b"\xff\xd8"
    found, at = set[int](), 2
    while jpeg[at + 1] != 0xDA:
        assert jpeg[at] == 0xFF
        found.add(jpeg[at + 1])
        at += 2 + struct.unpack(">H", jpeg[at + 2 : at + 4])[0]
    return found


def test_nothing_but_the_pixels_is_kept_and_they_stand_upright() -> None:
    sent = picture(turned=6, comment=b"taken at home")
    assert PLACE in sent and b"taken at home" in sent and 0xE1 in segments(sent)
    kept = fit(sent)
    assert segments(kept.jpeg) <= {0xE0, 0xDB, 0xC0, 0xC4}  # the JFIF head, tables, the frame
    assert PLACE not in kept.jpeg and b"taken" not in kept.jpeg
    assert (kept.width_px, kept.height_px) == (400, 640)
    with Image.open(io.BytesIO(kept.jpeg)) as seen:
        assert seen.size == (400, 640) and not seen.getexif()
        right, left = seen.getpixel((390, 320)), seen.getpixel((10, 320))
    assert right[0] > 200 > 60 > right[2] and left[2] > 200 > 60 > left[0]  # type: ignore[index]


@pytest.mark.parametrize("turned", range(1, 9))
def test_every_orientation_is_turned_as_the_library_does(turned: int) -> None:
    from PIL import ImageOps

    sent = picture(turned=turned)
    with Image.open(io.BytesIO(sent)) as opened:
        wanted = ImageOps.exif_transpose(opened)
    kept = Image.open(io.BytesIO(fit(sent).jpeg))
    assert kept.size == wanted.size
    for at in ((20, 20), (20, kept.height - 20), (kept.width - 20, 20)):
        a, b = kept.getpixel(at), wanted.getpixel(at)
        assert all(abs(x - y) < 24 for x, y in zip(a, b, strict=True))  # type: ignore[arg-type]


def test_a_large_photo_becomes_small_and_noise_stays_within_bounds() -> None:
    noise = Image.effect_noise((3000, 2000), 90).convert("RGB")
    noise.save(to := io.BytesIO(), "JPEG", quality=90)
    kept = fit(to.getvalue())
    assert max(kept.width_px, kept.height_px) == LONGEST_SIDE_PX
    assert len(kept.jpeg) <= KEPT_BYTES < len(to.getvalue())


@pytest.mark.parametrize("form", ["PNG", "WEBP"])
def test_other_pictures_become_jpeg(form: str) -> None:
    assert segments(fit(picture(form)).jpeg)


def test_what_is_seen_through_stands_on_white() -> None:
    Image.new("RGBA", (50, 50), (0, 0, 0, 0)).save(to := io.BytesIO(), "PNG")
    with Image.open(io.BytesIO(fit(to.getvalue()).jpeg)) as seen:
        assert min(seen.getpixel((25, 25))) > 250  # type: ignore[type-var, arg-type]


def bomb(side: int) -> bytes:
    """A PNG of a few kB that says it has side times side pixels."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 90_000))


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        (b"", "empty"),
        (b"GIF89a" + b"\0" * 60, "JPEG, PNG or WebP"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "JPEG, PNG or WebP"),
        (b"<html><script>1</script>", "JPEG, PNG or WebP"),
        (b"\0\0\0\x18ftypheic" + b"\0" * 40, "HEIC"),
        (picture("GIF"), "JPEG, PNG or WebP"),
        (picture("TIFF"), "JPEG, PNG or WebP"),
        (picture()[:-900], "cut short"),
        (picture()[:200], "cut short"),
        (picture("PNG")[:-90], "cut short"),
        (bomb(6_000), "pixels"),
        (bomb(12_000), "pixels"),
        (bomb(60_000), "pixels"),
        (b"\0" * 25_000_001, "25 MB"),
    ],
)
def test_what_is_no_photo_is_refused_with_words(sent: bytes, words: str) -> None:
    with pytest.raises(Unfit, match=words):
        fit(sent)


@pytest.mark.filterwarnings("ignore::UserWarning")  # the library warns of bad Exif, then goes on without it
@pytest.mark.parametrize("seed", range(60))
def test_damage_is_refused_or_shows_something(seed: int) -> None:
    """Bytes changed anywhere: never another kind of error."""
    import random

    rng = random.Random(seed)
    data = bytearray(picture(("JPEG", "PNG", "WEBP")[seed % 3], (64, 40), turned=0 if seed % 2 else 6))
    for _ in range(6):
        data[rng.randrange(len(data))] = rng.randrange(256)
    try:
        assert segments(fit(bytes(data)).jpeg)
    except Unfit as unfit:
        assert str(unfit)


@pytest.mark.parametrize(
    ("name", "kind"),
    [("a.png", "JPEG"), ("a.jpg", "PNG"), ("a.jpg", "WEBP"), ("a.heic", "JPEG"), ("a.jpg.html", "JPEG")],
)
def test_an_ending_that_says_otherwise_is_refused(name: str, kind: str) -> None:
    ending = name.rpartition(".")[2]
    with pytest.raises(Unfit, match=rf"ends in \.{ending}, but it is a {kind}; let its name end in \."):
        fit(picture(kind), name)


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("A.JPG", "JPEG"),
        ("a.jpeg", "JPEG"),
        ("a.png", "PNG"),
        ("a.webp", "WEBP"),
        ("image", "PNG"),
        ("1.2", "PNG"),
    ],
)
def test_an_ending_that_says_so_or_none_is_taken(name: str, kind: str) -> None:
    assert fit(picture(kind), name).width_px


def send(client: Client, data: bytes, on: str = "2026-01-13", field: str = "taken", tag: str = "F1") -> Any:
    sent = {field: SimpleUploadedFile("a.jpg", data, "image/jpeg"), "on": on}
    return client.post(f"/animal/{tag}/photos", sent, **HERE)


@in_a_room
def test_the_latest_is_shown_and_earlier_ones_by_date(client: Client) -> None:
    assert "No photo yet" in client.get("/animal/F1", **HERE).content.decode()
    for n, (on, field) in enumerate(
        (("2026-01-10", "taken"), ("2025-03-02", "chosen"), ("2025-11-30", "taken"))
    ):
        answer = send(client, picture(size=(300 + n, 200)), on, field)
        assert answer["Location"] == "/animal/F1"
    page = client.get("/animal/F1", **HERE).content.decode()
    assert re.findall(r"photos/(\d+)\.jpg", page) == ["1", "3", "2"]
    assert "2 earlier photos" in page and 'capture="environment"' in page
    papers = client.get("/animal/F1/papers", **HERE).content.decode()
    assert re.findall(r"photos/(\d+)\.jpg", papers) == ["1"]
    assert client.post("/animal/F1/photos/remove", {"photo": "1"}, **HERE).status_code == 302
    assert [p.number for p in photos.of_animal("F1")] == [3, 2]
    assert client.get("/animal/F1/photos/1.jpg", **HERE).status_code == 404


@in_a_room
def test_a_photo_goes_out_as_what_it_is_and_is_asked_for_again(client: Client) -> None:
    send(client, picture())
    send(client, picture())  # sent twice, kept once
    assert len(photos.of_animal("F1")) == 1
    shown = client.get("/animal/F1/photos/1.jpg", **HERE)
    assert shown.content == photos.jpeg_of("F1", 1) and shown["Content-Type"] == "image/jpeg"
    assert shown["X-Content-Type-Options"] == "nosniff" and shown["Cache-Control"] == "private, no-cache"
    with CaptureQueriesContext(connection) as asked:
        again = client.get("/animal/F1/photos/1.jpg", **HERE, HTTP_IF_NONE_MATCH=shown["ETag"])
    assert again.status_code == 304 and not any("jpeg" in q["sql"] for q in asked)
    assert client.get("/animal/F2/photos/1.jpg", **HERE).status_code == 404


@in_a_room
def test_what_cannot_be_kept_is_told(client: Client) -> None:
    for answer, words in (
        (client.post("/animal/F1/photos", {"on": "2026-01-13"}, **HERE), "No photo was taken or chosen"),
        (send(client, b"not a photo"), "JPEG, PNG or WebP"),
        (send(client, picture(), "2026-01-14"), "yet to come"),
        (send(client, picture(), "yesterday"), "is not a date"),
    ):
        assert answer.status_code == 400 and words in answer.content.decode()
    assert send(client, picture(), tag="F77").status_code == 404
    assert client.post("/animal/F1/photos/remove", {"photo": "9" * 30}, **HERE).status_code == 404
    assert not photos.of_animal("F1")


@in_a_room
def test_an_animal_has_only_so_many(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "MOST_OF_ONE", 1)
    send(client, picture())
    assert "the most that are kept of one animal" in send(client, picture(size=(90, 90))).content.decode()


@in_a_room
def test_no_page_but_a_photos_own_reads_its_bytes(client: Client) -> None:
    send(client, picture())
    for path in ("/", "/room", "/animal/F1", "/animal/F1/papers", "/animal/F1/photos"):
        with CaptureQueriesContext(connection) as asked:
            assert client.get(path, **HERE).status_code == 200
        assert not any("jpeg" in q["sql"].casefold() for q in asked), path
    with CaptureQueriesContext(connection) as asked:
        client.get("/", **HERE)
    assert not any("photo" in q["sql"] for q in asked)


@in_a_room
def test_a_reader_sees_a_helper_adds_an_owner_removes(monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    monkeypatch.setenv("EGGTOOTH_SIGN_IN", "1")
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    clients = {}
    for role in Role:
        people.add(role.value, role, "a long enough pass phrase")
        clients[role] = Client()
        clients[role].force_login(models.Person.objects.get(role=role.value))
    assert send(clients[Role.READER], picture()).status_code == 403
    assert send(clients[Role.HELPER], picture()).status_code == 302
    assert photos.of_animal("F1")[0].by == "helper"
    for role, adds, removes in (
        (Role.READER, False, False),
        (Role.HELPER, True, False),
        (Role.OWNER, True, True),
    ):
        page = clients[role].get("/animal/F1", **HERE).content.decode()
        assert ("Add a photo" in page, "Remove this photo" in page) == (adds, removes)
        assert clients[role].get("/animal/F1/photos/1.jpg", **HERE).status_code == 200
        gone = clients[role].post("/animal/F1/photos/remove", {"photo": "1"}, **HERE)
        assert gone.status_code == (302 if removes else 403)
    stranger = Client().get("/animal/F1/photos/1.jpg", **HERE)
    assert stranger.status_code == 302 and stranger["Location"] == "/sign-in"


def kept() -> list[tuple[Any, ...]]:
    rows = models.Photo.objects.order_by("id").values_list("id", "animal__tag", "on", "sha256", "jpeg")
    return [(*row[:-1], bytes(row[-1])) for row in rows]


@pytest.mark.sqlite
def test_copies_and_both_databases_carry_photos(
    fresh_store: Path,
    room: None,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("EGGTOOTH_STORE", str(fresh_store))
    for n in range(23):  # more than go over at once
        made = fit(picture(size=(40 + n, 30)))
        photos.add("F1", ON, made.jpeg, made.width_px, made.height_px, "Ada")
    before = kept()
    copy, _ = backing_up.back_up()
    photos.remove("F1", 1)
    assert len(kept()) == 22
    connection.close()
    assert main(["restore", str(copy.file)]) == 0
    store.open_store()
    assert kept() == before
    try:
        with server(safe=False) as started:
            address = started.make("photos")
            capsys.readouterr()
            assert main(["move-store", address, "--json"]) == 0
            there = {t["table"]: t for t in json.loads(capsys.readouterr().out)["tables"]}
            monkeypatch.setenv("EGGTOOTH_DATABASE", address)
            store.open_store()
            assert kept() == before
            assert main(["move-store", str(tmp_path / "back.sqlite3"), "--json"]) == 0
            back = {t["table"]: t for t in json.loads(capsys.readouterr().out)["tables"]}
            assert there["records_photo"] == back["records_photo"] and there["records_photo"]["rows"] == 23
            monkeypatch.setenv("EGGTOOTH_DATABASE", "")
            monkeypatch.setenv("EGGTOOTH_STORE", str(tmp_path / "back.sqlite3"))
            store.open_store()
            assert kept() == before
    except NoServer as none:
        pytest.skip(str(none))
