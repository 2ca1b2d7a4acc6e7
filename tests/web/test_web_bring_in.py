"""A picture from the file to the sheet, through the pages."""

from __future__ import annotations

import io
import json
import re
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from PIL import Image
from starlette.testclient import TestClient

from composer.art.colour_notes import noted_areas
from composer.art.svg_read import ReadArt
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.metric import distance
from composer.store.store import Store

sys.path.insert(0, str(Path(__file__).parents[1] / "art"))
from estuary_pictures import gull, lamp, on_paper, saved

RGB, COVER = gull(480, 360)
PHOTO = saved(on_paper(RGB, COVER), "JPEG", quality=92)


def bring(client: TestClient, pid: str, data: bytes, name: str = "gull.jpg", **more: str) -> Any:
    return client.post(f"/plans/{pid}/bring-in/left_arm", files={"file": (name, data)}, data=more)


def picture_of(answer: Any) -> str:
    assert answer.status_code == 200, answer.text
    return answer.json()["to"].rpartition("=")[2]


def form(digest: str, **change: str | None) -> dict[str, str]:
    """As the page sends it."""
    values: dict[str, str | None] = {
        "picture": digest, "method": "background", "tolerance": "0.5", "holes": "auto", "lines": "1", "inked": "0",
        "fineness": "0.5", "darkness": "0.4", "clean": "0.5", "outline_mm": "0.7", "least_mm": "0.3", "tones": "1",
        "lift": "0.5", "thirds": "0", "simple": "0.5", "step-black": "1", "step-dark": "1", "step-mid": "1",
        "step-light": "1", "size_by": "file", "view": "skin", "holds": "1", "drawn": "{}", "title": "Gull"}
    return {k: v for k, v in {**values, **change}.items() if v is not None}


def test_from_the_file_to_the_sheet(client: TestClient, store: Store, plan_id: str) -> None:
    digest = picture_of(bring(client, plan_id, PHOTO))
    shown = client.get(f"/plans/{plan_id}/bring-in/left_arm?picture={digest}")
    assert shown.status_code == 200 and f"/pictures/{digest}" in shown.text and "Lay it on the sheet" in shown.text
    base = f"/plans/{plan_id}/bring-in/left_arm"
    quick = client.post(f"{base}/look", data=form(digest))
    assert quick.status_code == 200 and "data-outline=\"M" in quick.text and "What the skin can hold" not in quick.text
    whole = client.post(f"{base}/look", data=form(digest, whole="1"))
    assert "What the skin can hold" in whole.text and "no real size" in whole.text
    assert "at the needle" in whole.text and "at the needle" not in quick.text
    share = float(re.search(r"Black</th><td>(\d+)%", whole.text)[1])
    done = client.post(f"{base}/save", data=form(digest, place="1", title="  Gull over   the bar ")).json()
    piece = store.load(plan_id).plan.pieces[0]
    assert done["to"] == f"/plans/{plan_id}/compose/left_arm?sel={piece.id}" and piece.title == "Gull over the bar"
    motif = store.motif(piece.motif)
    assert motif.side["picture"] == digest and max(motif.width_mm, motif.height_mm) == pytest.approx(100, abs=0.2)
    assert motif.side["tones"]["black"] == pytest.approx(share / 100, abs=0.006)
    assert motif.side["line_mm"] > 300 and store.load(plan_id).undo_label == "place gull over the bar"
    assert motif.digest in store.gallery
    again = client.get(f"{base}?motif={motif.id}")
    assert again.status_code == 200 and f"/pictures/{digest}" in again.text and "Gull over the bar" in again.text


def test_colour_counts_in_the_hours_and_is_told_beside_those_of_black_and_grey(client: TestClient, store: Store,
                                                                             plan_id: str) -> None:
    """The same gull, half of it painted red: as black and grey and with its red packed, and so on the board."""
    red = RGB.copy()
    red[:, 240:] = np.where(COVER[:, 240:, None] > 0.5, (190, 20, 30), red[:, 240:])
    digest = picture_of(bring(client, plan_id, saved(on_paper(red, COVER), "JPEG", quality=92)))
    base = f"/plans/{plan_id}/bring-in/left_arm"
    said = client.post(f"{base}/look", data=form(digest, whole="1", size_by="typed", long="180 mm")).text
    assert "with its colours packed" in said, said
    low, grey, more, packed = map(float, re.search(r"About ([\d.]+) to ([\d.]+) hours at the needle in black and grey, "
                                                   r"about ([\d.]+) to ([\d.]+) hours with its", said).groups())
    assert low < more and grey < packed and "Colour in it: red" in said
    client.post(f"{base}/save", data=form(digest, place="1", size_by="typed", long="180 mm"))
    motif = store.motif(store.load(plan_id).plan.pieces[0].motif)
    assert motif.side["colours"]["red"] > 0.3

    def hours() -> float:
        text = client.get(f"/plans/{plan_id}/desk/left_arm/board").text
        return float(re.search(r"to ([\d.]+) hours for what shows here", text)[1])
    coloured = hours()
    piece = store.load(plan_id).plan.pieces[0]
    plain = store.add_drawn(ReadArt(store.gallery[motif.digest].moved(np.array([[1.0, 0, 0.5], [0, 1, 0]])),
                                    motif.side["tones"], ()), "Grey gull", {})
    store.commit(plan_id, {"do": "change", "pieces": [{"id": piece.id, "art": plain.digest}]})
    assert hours() < coloured == packed


def test_colours_of_an_svg_are_told_counted_and_named_as_those_of_a_picture(client: TestClient, store: Store,
                                                                          plan_id: str) -> None:
    svg = (b'<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">'
           b'<rect width="90" height="59" fill="#222"/><rect x="5" y="5" width="50" height="49" fill="#d02030"/></svg>')
    done = bring(client, plan_id, svg, "Buoy.svg").json()
    assert "Colour in it: red 46%." in done["sentence"], done
    motif = store.shelf()[0]
    assert motif.side["colours"] == {"red": pytest.approx(50 * 49 / (90 * 59), abs=0.001)}
    assert set(noted_areas(store.gallery[motif.digest].notes)) == {"red"}
    store.commit(plan_id, {"do": "place", "piece": {"id": "b", "part": "left_arm", "art": motif.digest, "title": "Buoy",
                                                    "u": 0.0, "s_mm": 150.0}})
    assert "<dt>Colours</dt><dd>red</dd>" in client.get(f"/plans/{plan_id}/compose/left_arm?sel=b").text


def test_it_is_laid_where_it_lies_best_and_in_the_middle_with_places_on_offer_where_nothing_is_free(
        client: TestClient, store: Store, plan_id: str) -> None:
    digest = picture_of(bring(client, plan_id, PHOTO))
    base = f"/plans/{plan_id}/bring-in/left_arm"
    spots = []
    for _ in range(2):
        done = client.post(f"{base}/save", data=form(digest, place="1")).json()
        assert "goal=" not in done["to"]
        spots.append(store.load(plan_id).plan.pieces[-1])
    (a, b), limb = spots, build_limb("left_arm", TYPICAL_MM)
    assert float(distance(limb, np.array([[a.u, a.s_mm]]), np.array([b.u, b.s_mm]))[0]) > 55 and b.turn_deg == 0
    view = client.app.state.desk.view(store.load(plan_id).plan, store.load(plan_id).revision, "left_arm")
    one, two = (shapely.union_all([shapely.Polygon(r) for r in view.laid(p.id).rings]) for p in spots)
    assert not shapely.intersects(one, two)
    while "goal=" not in done["to"]:
        assert len(store.load(plan_id).plan.pieces) < 30
        done = client.post(f"{base}/save", data=form(digest, place="1")).json()
    last = store.load(plan_id).plan.pieces[-1]
    assert done["to"].endswith(f"?sel={last.id}&goal=best:piece:{last.id}")
    assert client.get(done["to"]).status_code == 200


def test_sizes_that_hold_are_told_in_the_unit_of_the_plan(client: TestClient, store: Store, plan_id: str) -> None:
    digest = picture_of(bring(client, plan_id, PHOTO))
    for unit, says in (("cm", r"\d+\.\d cm long"), ("in", r"\d+\.\d\d in long")):
        store.commit(plan_id, {"do": "settings", "set": {"unit": unit}}, "unit")
        text = client.post(f"/plans/{plan_id}/bring-in/left_arm/look", data=form(digest, whole="1")).text
        assert re.search(says, text) and not re.search(r"\d+ mm long", text)


def test_only_onto_the_shelf_and_without_measures(client: TestClient, store: Store, plan_id: str) -> None:
    digest = picture_of(bring(client, plan_id, PHOTO))
    kept = client.post(f"/plans/{plan_id}/bring-in/left_arm/save", data=form(digest, place="0")).json()
    assert store.load(plan_id).plan.pieces == () and store.motif(kept["motif"]).title == "Gull"
    bare = store.create("Not taped yet")
    said = client.post(f"/plans/{bare}/bring-in/right_leg/save", data=form(digest, place="1")).json()
    assert said["to"] == f"/plans/{bare}/measure/right_leg?first=1"
    assert client.get(f"/plans/{bare}/bring-in", follow_redirects=False).headers["location"].endswith("left_arm")


def test_size_by_what_is_known(client: TestClient, store: Store, plan_id: str) -> None:
    digest = picture_of(bring(client, plan_id, saved(on_paper(RGB, COVER), "PNG", dpi=(254, 254)), "scan.png"))
    base = f"/plans/{plan_id}/bring-in/left_arm"

    def longer(**change: str) -> float:
        done = client.post(f"{base}/save", data=form(digest, lines=None, tones=None, **change)).json()
        motif = store.motif(done["motif"])
        return max(motif.width_mm, motif.height_mm)

    by_file = longer()
    assert longer(size_by="typed", long="7,5 cm") == pytest.approx(75, abs=0.2)
    ruled = longer(size_by="scale", scale_length="20 mm", drawn=json.dumps({"scale": [0, 0, 100, 0]}))
    assert ruled == pytest.approx(2 * by_file, rel=0.01), "100 pixels are 10 mm at 254 dpi"
    ruler = {"size_by": "scale", "scale_length": "5", "drawn": '{"scale":[0,0,2,0]}'}
    for change, word in (({"size_by": "typed", "long": "large"}, "longer side"), (ruler, "nearly the same"),
                         ({**ruler, "scale_length": "", "drawn": '{"scale":[0,0,90,0]}'}, "two points")):
        said = client.post(f"{base}/look", data=form(digest, **change))
        assert said.status_code == 422 and word in said.text


def test_lasso_marks_and_regions(client: TestClient, plan_id: str) -> None:
    digest = picture_of(bring(client, plan_id, PHOTO))
    base = f"/plans/{plan_id}/bring-in/left_arm"
    none = client.post(f"{base}/look", data=form(digest, method="lasso"))
    assert none.status_code == 422 and "Draw a line round the subject first" in none.text
    drawn = {"lasso": [20, 10, 460, 10, 460, 350, 20, 350], "marks": [[[200, 200, 220, 210], True]],
             "regions": [[[300, 150, 400, 150, 400, 250], "none"]]}
    done = client.post(f"{base}/look", data=form(digest, method="lasso", holes="filled", drawn=json.dumps(drawn)))
    assert done.status_code == 200 and "data-outline=\"M" in done.text
    for bad in ("[", '{"lasso": "x"}', '{"regions": [[[1,2], "fluffy"]]}', '{"lasso": [1e400, 2]}', "[]" * 3):
        said = client.post(f"{base}/look", data=form(digest, method="lasso", drawn=bad))
        assert said.status_code == 422 and "Traceback" not in said.text


def test_stencil_marks(client: TestClient, plan_id: str) -> None:
    digest = picture_of(bring(client, plan_id, PHOTO))
    said = client.post(f"/plans/{plan_id}/bring-in/left_arm/look", data=form(digest, view="marks"))
    assert 'class="stencil"' in said.text and 'class="dot light"' in said.text and 'class="black"' in said.text


def test_the_picture_is_shown_small_and_without_camera_data(client: TestClient, plan_id: str) -> None:
    exif = Image.Exif()
    exif[315] = "Keeper of the light"
    big = np.repeat(np.repeat(RGB, 4, 0), 4, 1)
    digest = picture_of(bring(client, plan_id, saved(big, "JPEG", exif=exif)))
    answer = client.get(f"/pictures/{digest}")
    im = Image.open(io.BytesIO(answer.content))
    assert max(im.size) == 1400 and b"Keeper" not in answer.content and "immutable" in answer.headers["cache-control"]
    rgb, cover = lamp(300, 400)
    clear = picture_of(bring(client, plan_id, saved(rgb, "PNG", cover), "lamp.png"))
    assert client.get(f"/pictures/{clear}").headers["content-type"] == "image/png"
    assert client.get("/pictures/" + "0" * 64).status_code == 404


def test_files_that_can_not_be_taken(client: TestClient, store: Store, plan_id: str) -> None:
    for data, name, word in ((b"", "a.png", "empty"), (b"words", "a.png", "no picture"),
                             (PHOTO[:800], "a.jpg", "cut short"),
                             (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "a.png", "no closed shape"),
                             (b"\x89PNG\r\n\x1a\n" + bytes(30_000_001), "a.png", "30 MB")):
        said = bring(client, plan_id, data, name)
        assert said.status_code == 422 and word in said.json()["sentence"], name
    nothing = client.post(f"/plans/{plan_id}/bring-in/left_arm", data={"page": "1"})
    assert nothing.status_code == 422 and "No picture was chosen" in nothing.json()["sentence"]
    svg = (b'<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm" viewBox="0 0 50 50">'
           b'<path d="M5 5H45V45H5Z"/></svg>')
    assert bring(client, plan_id, svg, "pier.png").json()["to"].endswith("/compose/left_arm")
    assert store.shelf()[0].title == "pier"


def test_pages_that_are_not_there(client: TestClient, store: Store, plan_id: str) -> None:
    for path in ("left_wing", "left_arm?picture=" + "0" * 64, "left_arm?motif=none"):
        answer = client.get(f"/plans/{plan_id}/bring-in/{path}")
        assert answer.status_code in (404, 422) and "That did not work" in answer.text
    house = next(m for m in store.shelf() if "picture" not in m.side)
    answer = client.get(f"/plans/{plan_id}/bring-in/left_arm?motif={house.id}")
    assert answer.status_code == 422 and "not made of a picture" in answer.text
    said = client.post(f"/plans/{plan_id}/bring-in/left_arm/look", data=form("0" * 64))
    assert said.status_code == 422 and "bring it in again" in said.text
