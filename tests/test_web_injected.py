"""What is sent stays what it is: text in a question, a page, a command or a workbook never becomes code."""

from __future__ import annotations

import ast
import io
import re
import zipfile
from pathlib import Path

import pytest
from django.test import Client

import eggtooth
from eggtooth.records import people, store
from eggtooth.records.people import Purpose, Role
from eggtooth.records.sheets.opening import Unfit, open_sheet
from tests.test_web_doors import addresses, doors, house, inside, signed_in
from tests.test_web_round_page import HERE, room

__all__ = ["doors", "house", "room"]
pytestmark = pytest.mark.usefixtures("fresh_store", "room")
SOURCE = Path(eggtooth.__file__).parent


@pytest.mark.parametrize(
    "text", ["' OR '1'='1", "x'; DROP TABLE records_entry; --", '" UNION SELECT 1 --', "%"]
)
def test_a_search_is_never_part_of_the_question_to_the_store(house: None, text: str) -> None:
    owner, before = signed_in(Role.OWNER), store.entries()
    for path, name in (("/records", "words"), ("/records", "tag"), ("/find", "tag"), ("/", "rack")):
        assert owner.get(path, {name: text}, **HERE).status_code in (200, 400, 404)
    assert not Client().post("/sign-in", {"name": text, "password": text}, **HERE).has_header("Location")
    assert store.entries() == before


def test_every_answer_says_what_it_is(house: None) -> None:
    client, token = inside(Role.OWNER)
    for page, path in addresses():
        answer = client.get(path, **HERE, **token)
        if answer.status_code == 302 or not (answer.streaming or answer.content):
            continue
        kind = answer["Content-Type"]
        assert answer["X-Content-Type-Options"] == "nosniff", page
        assert "charset=utf-8" in kind or re.match(r"application/(?!xml)", kind), (page, kind)


def calls(tree: ast.AST) -> set[str]:
    return {ast.unparse(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}


def test_no_text_is_run_as_code_or_by_a_shell() -> None:
    for path in SOURCE.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        assert not calls(tree) & {"eval", "exec", "os.system", "os.popen", "marshal.loads"}, path
        given = [k for node in ast.walk(tree) if isinstance(node, ast.Call) for k in node.keywords]
        assert not [k for k in given if k.arg == "shell"], path


def test_no_page_holds_a_script_or_takes_the_guard_off_text() -> None:
    for path in (SOURCE / "web" / "templates").glob("*.html"):
        text = path.read_text(encoding="utf-8")
        assert not re.search(
            r"""<script(?![^>]*\bsrc=)|<style|\son[a-z]+=["']|javascript:|\|\s*safe\b|autoescape off""", text
        ), path


def workbook(entities: str, said: str) -> bytes:
    from openpyxl import Workbook

    plain, made = io.BytesIO(), io.BytesIO()
    book = Workbook()
    book.active.append(["tag", "name"])  # type: ignore[union-attr]
    book.active.append(["F1", "MARK"])  # type: ignore[union-attr]
    book.save(plain)
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            data = old.read(name)
            if b"MARK" in data:
                start = data.index(b"<", data.index(b"?>") if data.startswith(b"<?xml") else 0)
                data = f"<!DOCTYPE x [{entities}]>".encode() + data[start:].replace(b"MARK", said.encode())
            new.writestr(name, data)
    return made.getvalue()


def test_a_workbook_reads_no_file_of_this_machine_and_does_not_grow(tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("hidden words")
    assert open_sheet("x.xlsx", workbook("", "plain")).rows == (("F1", "plain"),)
    outside = workbook(f'<!ENTITY e SYSTEM "file://{tmp_path}/secret">', "&e;")
    lines = ['<!ENTITY e0 "0123456789">']
    lines += [f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 10)]
    for data in (outside, workbook("".join(lines), "&e9;")):
        try:
            cells = str(open_sheet("x.xlsx", data).rows)
        except Unfit:
            continue
        assert "hidden" not in cells and len(cells) < 1000


def test_nobody_ends_the_token_of_another(house: None) -> None:
    token = people.make_secret("Helper", Purpose.INTERFACE, "scale")
    ((key, _, _),) = people.secrets_of("Helper", Purpose.INTERFACE)
    signed_in(Role.READER).post("/me", {"do": "no token", "key": key}, **HERE)
    assert people.by_secret(token, Purpose.INTERFACE) is not None


def test_what_is_secret_is_sent_by_post() -> None:
    for path in (SOURCE / "web" / "templates").glob("*.html"):
        for form in re.findall(r"<form.*?</form>", path.read_text(encoding="utf-8"), re.S):
            if 'type="password"' in form:
                assert re.match(r'<form[^>]*method="post"', form), path
