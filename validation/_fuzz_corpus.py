"""What each reader starts from: a few good inputs, and words that mutations may put in."""

# ruff: noqa: E501 (one line for many odd texts)

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

from validation import _fuzz_house, _fuzz_readers
from validation._fuzz_readers import CSV_PARTS, PART, STANDARD

Run = Callable[[bytes], None]

READERS: dict[str, tuple[Run, int]] = {
    "csv": (_fuzz_readers.read_csv, 20_000),
    "sheets": (_fuzz_readers.read_sheet, 20_000),
    "notation": (_fuzz_readers.read_notation, 2_000),
    "import": (_fuzz_house.read_import, 10_000),
    "upload": (_fuzz_house.read_upload, 10_000),
    "http": (_fuzz_house.read_http, 4_000),
}
"""Each reader and its longest input in bytes; longer ones are tried by tests of their own."""
MENDED = Path(__file__).resolve().parent.parent / "tests" / "fuzzed"
"""Inputs that once were faults, by reader."""

FILES = {
    "animals.csv": "tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note\n"
    "M1,Anvil,M,2021-06-01,Pastel het Clown,,,,A-1-1,,\nM2,,M,2021-06-02,66% het Piebald,,,,A-1-2,,\n"
    'F1,,F,2020-06-01,Clown,,,,A-2-1,,"likes, shade"\nF2,Zoë,F,2021-07-01,Lesser,M1|M2,F1,C1,B-1-1,sold,\n',
    "log.csv": "date,tag,kind,value,detail\n2026-01-10,M1,weight,710,\n2026-01-03,M1,meal,1,small rat 70 g\n"
    "2026-01-12,M1,paired,,F1\n2026-01-13T21:30,M1,lock,,F1\n2026-01-14,M1,parted,,F1\n"
    "2025-10-16,F1,laid,6,1 slug\n2025-12-14,F1,pipped,6,\n2025-12-16,F1,hatched,5,\n"
    "2026-01-15,F1,scan,21.5,7 follicles\n2026-01-16,F1,laid,6,1 slug\n2026-01-17,M1,test,,Clown 1 error 2%\n"
    "2026-01-18,F1,moved,,A-3-2\n2026-01-19,F1,shed,,\n2026-01-20,BOX,temperature,31.5,\n",
    "wishes.csv": "wish,weight,count\nClown Piebald,2,3\nprove M1,1,1\nprove M2 Piebald,,\nkeep line F1,,\n",
    "incubators.csv": "tag,places,target_c\nBOX,12,31.5\n",
    "voided.csv": "date,tag,kind,value,detail,entry id,voided by,voided at,why\n"
    "2026-01-10,F1,weight,171,,00000000-0000-4000-8000-000000000001,keeper,2026-01-11T08:00:00+00:00,slip\n",
    "settings.json": '[{"when":"2026-01-01T00:00:00+00:00","by":"keeper","settings":{}}]',
    "pairs.json": '[{"when":"2026-01-01T00:00:00+00:00","by":"keeper","male":"M1","female":"F1","says":"pin"}]',
}
"""A small invented house in which every file has a line of most kinds."""

GENES = [
    "Pastel het Clown",
    "66% het Piebald, possible het Clown",
    "Lesser Mojave",
    "Banana (male maker)",
    "super Pastel male",
    "double het Clown Piebald",
    "Pastel/+ 2/3 het Clown",
    "Desert, Ghost",
    "Normal",
    "het Ghost & 50% het Albino;female",
    "",
]

TYPED = "T" + "\x1e".join(["M9", "", "M", "2022-06-01", "het Clown", "M1", "F1", "C1", "A-9-9", "here", "x"])
FORM, JSON = "application/x-www-form-urlencoded", "application/json"
KEY = "00000000000040008000000000000007"
REQUESTS = (
    *(f"GET {a} -\n" for a in (
        "/?on=2026-01-13&do=weigh&rack=A&page=2", "/room", "/tub/A-1-1", "/season", "/males", "/ready", "/find?q=F1",
        "/cross?sire=het+Clown&dam=Clown&eggs=6", "/records?tag=F1&kind=weight&page=1", "/animal/F1", "/labels",
        "/animal/F1/papers", "/review?year=2025", "/wishes", "/hatchlings", "/settings", "/take/json", "/doubts",
        "/api/round?on=2026-01-13", "/api/animals/F1/entries?kind=weight", "/api/cross?sire=M1&dam=F1&eggs=4",
        "/feeders?weeks=4", "/clutches", "/all", "/animals/new",
    )),
    f"POST /note {FORM}\non=2026-01-13&tap={KEY}|ate1|F1|&number=1",
    f"POST /note {FORM}\non=2026-01-13&tap={KEY}|grams|F1|&number=1512,5&back=/room&place=F1",
    f"POST /note {FORM}\non=2026-01-13&tap={KEY}|locked|M1|F1",
    f"POST /note/entry {FORM}\non=2026-01-13&tag=F1&kind=weight&value=1900&detail=&key={KEY}",
    f"POST /undo {FORM}\nid={KEY}&back=/room",
    f"POST /feeding {FORM}\non=2026-01-13&ate-F1=1&key-F1={KEY}&rack=A",
    f"POST /animals/new {FORM}\ntag=F9&sex=F&hatched=2022-06-01&genes=het+Clown&sire=M1&dam=F1&tub=A-9-9",
    f"POST /animal/F1/edit {FORM}\ntag=F1&name=x&was={{}}&genes=Clown&state=here",
    f"POST /wishes {FORM}\ndo=add&wish=Clown+Pastel&weight=2&count=1",
    f"POST /wishes {FORM}\ndo=change&wish=prove+M1&weight=2,5&count=1",
    f"POST /plan/choose {FORM}\npair=M1|F1&says=pin&male=M1&female=F1",
    f"POST /hatchlings/F1/2025-12-16 {FORM}\ntag=H1&genes=Clown&sex=M&grams=65&key={KEY}",
    f"POST /records/correct {FORM}\nid={KEY}&key={KEY}&tag=F1&kind=weight&value=1&on=2026-01-13",
    f"POST /settings {FORM}\nmale_g=600&female_g=1500",
    f"POST /people {FORM}\ndo=add&name=New&role=helper&password=a+long+enough+phrase",
    f"POST /me {FORM}\ndo=token&label=scale",
    "POST /bring multipart/form-data;boundary=x\n--x\r\nContent-Disposition: form-data; name=\"sheet\"; "
    "filename=\"a.csv\"\r\n\r\ntag,sex\nF7,F\r\n--x--\r\n",
    f'POST /api/entries {JSON}\n[{{"on":"2026-01-13","tag":"F1","kind":"weight","value":1900,"detail":""}}]',
    f'POST /api/temperature {JSON}\n{{"place":"BOX","celsius":31.4,"at":"2026-01-13T20:30"}}',
    f'POST /api/undo {JSON}\n{{"id":"{KEY}"}}',
)  # fmt: skip

ODD = (
    "\ufeff", "\x00", "\u202e", "\ud800", '"', '""', "'", "<script>", "=1+1", "1,5", "1e3", "007", "1e999", "NaN",
    "-0", "31/12/2026", "44350", "60", "2958466", "2026-02-30", "١٢", "\x1b[31m", "\r\n", "\u2028", "é", "9" * 50,
)  # fmt: skip


def reader_of(name: str) -> Run:
    """The function that must hold for any bytes."""
    return READERS[name][0]


def seeds(name: str) -> list[bytes]:
    """A few good inputs of a reader, and those mended before."""
    return [*SEEDS[name](), *(p.read_bytes() for p in sorted((MENDED / name).glob("*")))]


def words(name: str) -> list[bytes]:
    """What mutations may put in."""
    said = {
        w
        for seed in SEEDS[name]()
        for w in seed.replace(b",", b" ").replace(b"&", b" ").split()
        if len(w) < 30
    }
    return sorted(said | {o.encode("utf-8", "surrogatepass") for o in ODD} | {PART})[:400]


def _files() -> list[bytes]:
    whole = PART.join(FILES[n].encode() for n in CSV_PARTS)
    parts = [PART.join(FILES[n].encode() if n == m else b"" for n in CSV_PARTS) for m in CSV_PARTS]
    more = (
        FILES["log.csv"]
        .replace("detail\n", "detail,note,noted by,noted at,entry id\n")
        .replace(",\n", ",,,,,,\n")
    )
    return [whole, *parts, PART.join((FILES["animals.csv"].encode(), more.encode()))]


def _sheets() -> list[bytes]:
    texts = [FILES[n].replace(",", sign).encode(e) for n in list(FILES)[:2] for sign, e in (
        (",", "utf-8-sig"), (";", "utf-16"), ("\t", "cp1252"),
    )]  # fmt: skip
    own = "ID;Gender;Born;Morph;Bought\nF1;female;3.6.2021;Pastel;fair\nM1;1.0;Jan 13, 2022;;\nF2;?;44350;;\n"
    scale = 'Date,Snake,Weight (g)\n1/14/2026,F1,"1,512 g"\n14.1.2026,F2,"1.512,5"\n'
    return [*texts, own.encode(), scale.encode(), b"X" + PART.join(STANDARD), _book()]


def _book() -> bytes:
    from openpyxl import Workbook

    book, out = Workbook(), io.BytesIO()
    book.active.append(["tag", "hatched", "note"])
    book.active.append(["F1", _fuzz_readers.LATEST, "=1+1"])
    book.save(out)
    return out.getvalue()


SEEDS: dict[str, Callable[[], list[bytes]]] = {
    "csv": _files,
    "sheets": _sheets,
    "notation": lambda: [text.encode() for text in GENES],
    "import": lambda: [b"a" + data for data in _files()] + [b"g" + _files()[0]],
    "upload": lambda: [b"herd.csv\n" + data for data in _sheets()] + [TYPED.encode(), b"g\n" + _sheets()[-3]],
    "http": lambda: [text.encode() for text in REQUESTS],
}
