"""Other sites can't write, foreign names aren't answered, and every fault is a sentence, never a 500."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from composer.sheets import letters
from composer.store.store import Store

HOSTILE_SVG = {
    "scripted": b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
    "entities": b'<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
                b'<svg xmlns="http://www.w3.org/2000/svg"><text>&b;</text></svg>',
    "open line": b'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0" stroke="#000"/></svg>',
    "no svg": b"\x89PNG\r\n\x1a\n0000",
    "cut short": b'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0h10',
    "empty": b"",
}


def plain(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).strip()


def test_a_post_from_another_site_is_refused(client: TestClient, store: Store) -> None:
    before = len(store.plans())
    for origin in ("http://elsewhere.example", "null", "http://testserver:99"):
        got = client.post("/plans", data={"title": "x"}, headers={"origin": origin}, follow_redirects=False)
        assert got.status_code == 403 and "another web site" in got.text
    assert len(store.plans()) == before
    assert client.post("/plans", data={"title": "x"}, headers={"origin": "http://testserver"},
                       follow_redirects=False).status_code == 303


@pytest.mark.parametrize("host", ["desk.example", "127.0.0.1.example", "localhost.example:8717", ""])
def test_a_foreign_name_is_not_answered(client: TestClient, host: str) -> None:
    assert client.get("/", headers={"host": host}).status_code == 403


@pytest.mark.parametrize("host", ["127.0.0.1:8717", "localhost", "[::1]:8717", "192.168.1.20:8717", "studio.local"])
def test_addresses_of_the_studio_are_answered(client: TestClient, host: str) -> None:
    assert client.get("/", headers={"host": host}).status_code == 200


def test_headers_that_keep_foreign_scripts_out(client: TestClient) -> None:
    got = client.get("/")
    assert "script-src 'self'" in got.headers["content-security-policy"]
    assert "unsafe-eval" not in got.headers["content-security-policy"]
    assert got.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("path", ["/nothing", "/plans/none", "/plans/none/compose/left_arm", "/plans/none/print",
                                  "/plans/{id}/compose/tail", "/plans/{id}/measure/hand", "/motifs/0000.svg",
                                  "/plans/none/export", "/plans/none/layout.pdf", "/plans/{id}/layout/left_leg.svg"])
def test_what_is_not_there_is_said(client: TestClient, plan_id: str, path: str) -> None:
    got = client.get(path.format(id=plan_id))
    assert got.status_code == 404, got.text[:200]
    assert len(plain(got.text)) > 40 and "Traceback" not in got.text


def test_fonts_that_are_not_installed_are_said(client: TestClient, plan_id: str, tmp_path: Path,
                                               monkeypatch: pytest.MonkeyPatch) -> None:
    for kept in (letters._register, letters._runs, letters.width_mm):
        kept.cache_clear()
    monkeypatch.setattr(letters, "FOLDER", tmp_path)
    for path in (f"/plans/{plan_id}/layout.pdf", "/stencils/calibration-A4.pdf"):
        got = client.get(path)
        assert got.status_code == 503, path
        assert "source-sans-3-latin-400.ttf is missing" in plain(got.text) and "python3 run.py" in plain(got.text)


STEPS = [
    "", "nonsense", "[]", "{}", '{"do": "fly"}', '{"do": "change", "pieces": [{"id": "gone", "u": 0.1}]}',
    '{"do": "place", "piece": {"id": "a", "part": "left_arm", "art": "x", "title": "A", "u": NaN, "s_mm": 1}}',
    '{"do": "place", "piece": {"id": "a", "part": "left_arm", "art": "unknown", "title": "A", "u": 0, "s_mm": 1}}',
    '{"do": "place", "piece": "a"}', '{"do": "remove", "ids": ["gone"]}', '{"do": "remove", "ids": 7}',
    '{"do": "order", "ids": [], "to": "front"}', '{"do": "duplicate", "ids": ["gone"]}',
    '{"do": "duplicate", "ids": 3}',
    '{"do": "rename", "title": ""}', '{"do": "settings", "set": {"unit": "ell"}}', '{"do": "settings", "set": 3}',
    '{"do": "measure", "part": "left_arm", "measures": {"wrist": -3}}',
    '{"do": "several", "steps": [{"do": "remove"}]}',
    '{"do": "several"}', '{"do": "twin", "id": "gone", "new_id": "b"}', '{"do": ["place"]}',
]


@pytest.mark.parametrize("step", STEPS)
def test_a_step_that_cannot_be_made_is_a_sentence(client: TestClient, store: Store, plan_id: str, step: str) -> None:
    before = store.load(plan_id)
    got = client.post(f"/plans/{plan_id}/desk/left_arm/step", data={"step": step, "mode": "tie-in"},
                      headers={"hx-request": "true"})
    assert got.status_code == 422, f"{got.status_code}: {got.text[:300]}"
    said = re.search(r'id="notice"[^>]*>([^<]+)<', got.text)
    assert said and said[1].strip().endswith((".", "?")) and "hidden" not in said[0]
    assert store.load(plan_id) == before, "nothing is saved half-way"


@pytest.mark.parametrize("ring", ["", "[]", "[[1,2]]", "[[0,0],[1,1]]", "[[0,0],[0,0],[0,0]]", '["a"]',
                                  "[[1e9,1],[2e9,2],[3e9,9]]", "[[NaN,1],[2,2],[3,9]]", "[[0,0],[1,0],[1,1]]", "{}"])
def test_an_outline_that_is_none_is_a_sentence(client: TestClient, store: Store, plan_id: str, ring: str) -> None:
    got = client.post(f"/plans/{plan_id}/desk/left_arm/trace", data={"ring": ring}, headers={"hx-request": "true"})
    assert got.status_code == 422 and "outline" in got.text
    assert store.load(plan_id).plan.pieces == ()


@pytest.mark.parametrize("name", HOSTILE_SVG)
def test_a_hostile_drawing_is_refused_or_made_harmless(client: TestClient, store: Store, name: str) -> None:
    got = client.post("/shelf", files={"file": (f"{name}.svg", HOSTILE_SVG[name], "image/svg+xml")})
    assert got.status_code == 422, got.text[:300]
    assert got.json()["sentence"].startswith(f"{name}.svg: ") and got.json()["taken"] == 0


def test_a_gigantic_page_is_taken_in_at_a_size_that_fits_a_limb(client: TestClient, store: Store) -> None:
    data = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1e18 1e18"><path d="M0 0h1v1z"/></svg>'
    got = client.post("/shelf", files={"file": ("wide.svg", data, "image/svg+xml")})
    assert got.status_code == 200 and "100 mm" in got.json()["sentence"]
    motif = next(m for m in store.shelf() if m.title == "wide")
    assert max(motif.width_mm, motif.height_mm) < 400


def test_a_drawing_that_is_too_large_is_refused(client: TestClient) -> None:
    got = client.post("/shelf", files={"file": ("big.svg", b"<svg>" + b" " * 9_000_000, "image/svg+xml")})
    assert got.status_code in (413, 422) and "MB" in got.text


@pytest.mark.parametrize("data", [b"", b"{}", b"\x1f\x8b\x08broken", b'{"format": "sleevewright-plan", "version": 99}'])
def test_a_damaged_plan_file_is_refused_in_words(client: TestClient, store: Store, data: bytes) -> None:
    before = len(store.plans())
    got = client.post("/plans/import", files={"file": ("p.sleevewright", data)})
    assert got.status_code == 422 and len(plain(got.text)) > 40
    assert len(store.plans()) == before


def test_an_unforeseen_fault_is_a_sentence_too(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(self: Store) -> None:
        raise RuntimeError("a secret of the machine")
    monkeypatch.setattr(Store, "plans", broken)
    got = client.get("/")
    assert got.status_code == 500
    assert "secret" not in got.text and "Nothing that was saved is lost" in got.text


@pytest.mark.parametrize("part", ["right_leg", "chest", "shoulders", "left_side", "nonsense"])
@pytest.mark.parametrize("path", ["refresh", "step", "place", "undo", "field", "accept", "remake", "twin"])
def test_a_part_whose_measures_were_taken_back_is_answered_in_words(client: TestClient, store: Store, part: str,
                                                                    path: str) -> None:
    pid = store.create("Taken back")
    form = {"mode": "compose", "step": '{"do": "rename", "title": "B"}'}
    got = client.post(f"/plans/{pid}/desk/{part}/{path}", data=form, headers={"hx-request": "true"})
    assert 400 <= got.status_code < 500 and len(got.text.strip()) > 20
