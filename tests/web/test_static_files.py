"""Style sheets and scripts: kept for ever under their hash, never from outside the set."""

import gzip
from pathlib import Path

import pytest
from fastapi import FastAPI

from tests.web.visitor import Visitor
from web.static_files import load, router


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "js").mkdir()
    (tmp_path / "js" / "a.js").write_text("export const a = 1;\n" * 50, encoding="utf-8")
    (tmp_path / "page.css").write_text("p { margin: 0 }\n", encoding="utf-8")
    (tmp_path / "secret.key").write_text("not for anybody", encoding="utf-8")
    return tmp_path


def client(folder: Path) -> Visitor:
    app = FastAPI()
    app.include_router(router(load(folder)))
    return Visitor(app)


def test_a_file_under_the_present_hash_is_kept_for_ever(folder: Path) -> None:
    url = load(folder).url("", "js/a.js")

    answer = client(folder).get(url)

    assert answer.headers["cache-control"] == "public, max-age=31536000, immutable"
    assert answer.headers["content-type"] == "text/javascript; charset=utf-8"
    assert answer.text.startswith("export const a")


def test_a_file_under_an_old_hash_is_asked_for_again(folder: Path) -> None:
    answer = client(folder).get("/static/000000000000/js/a.js")

    assert answer.headers["cache-control"] == "no-cache"


def test_any_change_gives_every_file_a_new_address(folder: Path) -> None:
    before = load(folder).url("", "page.css")
    (folder / "js" / "a.js").write_text("export const a = 2;\n", encoding="utf-8")

    assert load(folder).url("", "page.css") != before


def test_a_known_file_is_not_sent_again(folder: Path) -> None:
    visitor = client(folder)
    url = load(folder).url("", "page.css")
    etag = visitor.get(url).headers["etag"]

    answer = visitor.get(url, headers={"If-None-Match": etag})

    assert (answer.status_code, answer.content) == (304, b"")


def test_it_is_squeezed_only_for_those_who_ask(folder: Path) -> None:
    url = load(folder).url("", "js/a.js")

    plain = client(folder).get(url, headers={"Accept-Encoding": "identity"})
    squeezed = client(folder).get(url, headers={"Accept-Encoding": "gzip"})

    assert "content-encoding" not in plain.headers
    assert squeezed.headers["content-encoding"] == "gzip"
    assert int(squeezed.headers["content-length"]) < int(plain.headers["content-length"])
    assert squeezed.content == plain.content
    assert gzip.decompress(load(folder).by_path["js/a.js"].squeezed) == plain.content


@pytest.mark.parametrize(
    "path", ["secret.key", "..%2Fpyproject.toml", "js%2F..%2Fsecret.key", "nothing.js", ""]
)
def test_what_is_not_a_page_file_is_not_served(folder: Path, path: str) -> None:
    version = load(folder).version

    assert client(folder).get(f"/static/{version}/{path}").status_code == 404


def test_all_that_a_module_imports_is_known_beforehand(folder: Path) -> None:
    (folder / "js" / "top.js").write_text(
        'import { a } from "./a.js";\nimport {\n  b,\n} from "./b.js";\n', encoding="utf-8"
    )
    (folder / "js" / "b.js").write_text('import "./c.js";\n', encoding="utf-8")
    (folder / "js" / "c.js").write_text('import { b } from "./b.js";\n', encoding="utf-8")
    static = load(folder)

    found = static.modules("/base", "js/top.js")

    assert found == [static.url("/base", f"js/{name}.js") for name in "abc"]


def test_sheets_come_together_in_the_order_asked_for(folder: Path) -> None:
    (folder / "more.css").write_text("b {}\n", encoding="utf-8")
    url = load(folder).sheets("", "more.css", "page.css")

    answer = client(folder).get(url)

    assert answer.headers["content-type"].startswith("text/css")
    assert answer.content == b"b {}\n\n" + load(folder).by_path["page.css"].body


def test_a_module_comes_together_with_what_it_imports(folder: Path) -> None:
    (folder / "js" / "top.js").write_text('import { a } from "./a.js";\na();\n', encoding="utf-8")
    (folder / "js" / "a.js").write_text("export const a = () => 7;\n", encoding="utf-8")

    answer = client(folder).get(load(folder).script("", "js/top.js"))

    assert answer.headers["content-type"].startswith("text/javascript")
    assert "const a = () => 7;" in answer.text
    assert "import" not in answer.text


@pytest.mark.parametrize(
    "names", ["page.css+nothing.css", "secret.key", "page.css+../secret.key", "", "+".join(["page.css"] * 13)]
)
def test_only_page_files_come_together(folder: Path, names: str) -> None:
    version = load(folder).version

    assert client(folder).get(f"/static/{version}/together/{names}").status_code == 404


def test_naming_a_sheet_that_does_not_exist_is_an_error(folder: Path) -> None:
    with pytest.raises(KeyError):
        load(folder).sheets("", "page.css", "nothing.css")


def test_the_package_holds_what_the_pages_name() -> None:
    static = load()

    assert {"css/tokens.css", "js/home.js", "icon.svg", "vendor/uplot.min.js"} <= set(static.by_path)
