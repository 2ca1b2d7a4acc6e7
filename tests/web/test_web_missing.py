"""A part with a damaged drawing opens, with a box in the piece's place and a sentence what to do."""

from __future__ import annotations

import re

import pypdfium2
import pytest
from sqlalchemy import text
from starlette.testclient import TestClient

from composer.store.store import Store
from web.app import create_app


@pytest.fixture
def harmed(store: Store, plan_id: str) -> tuple[TestClient, str, bytes]:
    """A heron and a crab on the left arm; the heron's drawing is damaged. The plan as a file from before."""
    shelf = {m.id: m for m in store.shelf()}
    for name, s in (("heron", 330.0), ("crab", 110.0)):
        m = shelf[name]
        store.commit(plan_id, {"do": "place", "piece": {"id": name, "part": "left_arm", "art": m.digest,
                                                        "title": m.title, "motif": m.id, "u": 0.0, "s_mm": s}})
    whole = store.export_plan(plan_id)
    with store.engine.begin() as c:
        c.execute(text("UPDATE drawings SET data=x'00' WHERE digest=:d"), {"d": shelf["heron"].digest})
    fresh = Store(store.folder)
    return TestClient(create_app(store=fresh), raise_server_exceptions=False), plan_id, whole


def test_the_part_opens_with_a_box_and_says_what_to_do(harmed: tuple[TestClient, str, bytes], store: Store) -> None:
    client, pid, _ = harmed
    desk = client.get(f"/plans/{pid}/compose/left_arm")
    assert desk.status_code == 200 and "Drawing missing:</b> Heron on the mud bank." in desk.text
    assert 'id="row-crab"' in desk.text and 'id="piece-heron"' in desk.text
    panel = client.post(f"/plans/{pid}/desk/left_arm/refresh", data={"sel": "heron"}).text
    assert "The drawing of &#39;Heron on the mud bank&#39; is damaged in the studio" in panel
    assert "shown as a plain box" in panel
    for page in ("fit?piece=heron", "fit?piece=crab", "board"):
        assert client.get(f"/plans/{pid}/desk/left_arm/{page}").status_code == 200, page
    assert client.get(f"/plans/{pid}/tie-in/left_arm").status_code == 200
    picture = client.get(f"/motifs/{store.load(pid).plan.piece('heron').art}.svg")
    assert picture.status_code == 200 and picture.headers["cache-control"] == "no-store" and "<style>" in picture.text
    moved = client.post(f"/plans/{pid}/desk/left_arm/field", data={"sel": "heron", "name": "up", "value": "20 cm"})
    assert moved.status_code == 200


def test_stencils_of_the_others_are_printed_and_what_is_left_out_is_named(harmed: tuple[TestClient, str, bytes]
                                                                         ) -> None:
    client, pid, _ = harmed
    both = f"/plans/{pid}/stencils/left_arm?asked=1&piece=heron&piece=crab"
    shown = client.get(both)
    assert shown.status_code == 200 and "Take the PDF, 1 page" in shown.text and "its drawing is missing" in shown.text
    assert "&#39;Heron on the mud bank&#39; is left out: its drawing is damaged in the studio" in shown.text
    pdf = client.get(both.replace("left_arm?", "left_arm/stencils.pdf?"))
    words = pypdfium2.PdfDocument(pdf.content)[0].get_textpage().get_text_range()
    assert pdf.status_code == 200 and "Shore crab" in words and "Heron" not in words
    alone = client.get(both.replace("&piece=heron", "")).text
    assert "what lies behind it is printed whole" in alone and "left out" not in alone and "Take the PDF" in alone
    assert "Take the PDF" in client.get(f"{both}&together=1").text


def test_what_needs_the_drawing_is_refused_by_the_name_of_the_piece(harmed: tuple[TestClient, str, bytes]) -> None:
    client, pid, _ = harmed
    shown = client.get(f"/plans/{pid}/stencils/left_arm?asked=1&piece=heron")
    assert shown.status_code == 200 and "is left out" in shown.text and "Take the PDF" not in shown.text
    for file in ("stencils/left_arm/stencils.pdf?asked=1&piece=heron", "export"):
        got = client.get(f"/plans/{pid}/{file}")
        assert got.status_code == 422 and "&#39;Heron on the mud bank&#39; is" in got.text, file
    assert "The drawing of &#39;Heron on the mud bank&#39; is damaged" in client.get(f"/plans/{pid}/export").text


def test_once_it_comes_again_the_old_plan_has_it_too(harmed: tuple[TestClient, str, bytes]) -> None:
    client, pid, whole = harmed
    assert "Drawing missing" in client.get(f"/plans/{pid}/compose/left_arm").text
    client.post("/plans/import", files={"file": ("plan.sleeve", whole)})
    after = client.get(f"/plans/{pid}/compose/left_arm").text
    assert "Drawing missing" not in after and re.search('id="piece-heron"', after)
