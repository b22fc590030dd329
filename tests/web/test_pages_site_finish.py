"""Finish as plain forms: colours aimed at and kept, corners on a photo, moves, variants to choose from."""

from __future__ import annotations

import io
import re
import tomllib
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from pourwright.catalogue import load
from pourwright.errors import InputError
from pourwright.pattern import read_score
from pourwright.plan import job_from
from pourwright.web.pages import moves, own_shades, photo_colour, target, variants
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import Words

HTML = {"accept": "text/html"}
EN, DE, US = Show("metric", Words("en")), Show("metric", Words("de")), Show("us", Words("en"))
EXAMPLES = Path(__file__).parents[2] / "examples"
GALLEY = (EXAMPLES / "scores/galley.toml").read_text("utf-8")


class Fields(HTMLParser):
    """Names and values of the inputs of the form with an action, as a browser sends them."""

    def __init__(self, text: str, action: str) -> None:
        super().__init__()
        self.action, self.found, self._in, self._select = action, {}, False, ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        a = dict(attrs)
        if tag == "form":
            self._in = a.get("action") == self.action
        if not self._in:
            return
        if tag == "input" and a.get("name") and a.get("type") not in ("file", "image"):
            if a.get("type") not in ("radio", "checkbox") or "checked" in a:
                self.found[a["name"]] = a.get("value") or ""
        elif tag == "select":
            self._select = a.get("name", "")
        elif tag == "option" and self._select:
            chosen = "selected" in a or self._select not in self.found
            self.found |= {self._select: a.get("value", "")} if chosen else {}

    def handle_endtag(self, tag):
        self._select = "" if tag == "select" else self._select
        self._in = self._in and tag != "form"


def send(client, url: str, data: dict, status: int = 303, files=None):
    data = {"token": client.token, **data}
    answer = client.post(url, data=data, files=files, headers=HTML, follow_redirects=False)
    assert answer.status_code == status, answer.text[:3000]
    return answer


def document_of(client, job_id: str) -> dict:
    return client.get(f"/api/jobs/{job_id}").json()["document"]


@pytest.mark.parametrize(
    ("text", "show", "lab"),
    [("62; -18; 8", EN, (62, -18, 8)), ("62 -18 8", EN, (62, -18, 8)),
     ("62,-18,8", EN, (62, -18, 8)), ("62,5; −18; 8", DE, (62.5, -18, 8)),
     ("62.25/1/0", EN, (62.25, 1, 0))],
)  # fmt: skip
def test_three_numbers_are_a_colour(text, show, lab):
    assert target.lab_of(text, show) == lab


@pytest.mark.parametrize(
    "text", ["62; -18", "a b c", "120; 0; 0", "50; 200; 0", "1e3; 0; 0", "1;2;3;4"]
)
def test_other_texts_are_none(text):
    with pytest.raises(InputError) as err:
        target.lab_of(text, EN)
    assert err.value.field == "lab" and err.value.remedy


def test_a_screen_colour_comes_back_from_its_numbers():
    """#rrggbb to CIELAB for the 10 degree observer, shown on a screen made for 2 degrees: the two
    observers differ by some codes in greens and reds, and not at all in greys' lightness."""
    for code in ("#5f8f7a", "#b3652b", "#808080", "#26221d"):
        found = target.target_from({"target": code}, EN)
        back = target.screen_of(found.lab)
        for k in (1, 3, 5):
            assert abs(int(code[k : k + 2], 16) - int(back[k : k + 2], 16)) <= 12, (code, back)


def test_a_typed_colour_is_matched_and_kept_as_a_shade(client, job_id, work):
    page = client.get(f"/jobs/{job_id}/finish?lab=62;-18;8&batch=500 g", headers=HTML).text
    assert "Titanium white" in page and "CIEDE2000" in page
    mine = Fields(page, f"/jobs/{job_id}/finish/own-shade").found
    assert mine["lab"] == "62;-18;8"
    send(client, f"/jobs/{job_id}/finish/own-shade", {**mine, "own.name": "9"}, 422)
    send(client, f"/jobs/{job_id}/finish/own-shade", {**mine, "own.name": "Reed green"})
    job = client.store.jobs.get(job_id)
    assert job.document["products"] == [own_shades.FILE]
    assert own_shades.own_shades(job.files) == [("reed-green", "Reed green")]
    page = client.get(f"/jobs/{job_id}/finish", headers=HTML).text
    assert 'value="reed-green"' in page
    shades = Fields(page, f"/jobs/{job_id}/finish/shades").found
    send(client, f"/jobs/{job_id}/finish/shades", {**shades, "colour.shades.0.shade": "reed-green"})
    client.get(f"/jobs/{job_id}/build", headers=HTML)
    work(client)
    plan = client.get(f"/api/jobs/{job_id}/plan").json()["plan"]
    found = next(s for s in plan["shades"] if s["id"] == "reed-green")
    from pourwright.colour.difference import delta_e_2000

    # the plan's own swatch of the kept recipe is the colour that was asked for: within 1 CIEDE2000,
    # the rounding of the recipe to 0.1 mg/kg and gloss 90 against 95 together
    assert float(delta_e_2000(np.array(found["lab"]), np.array([62.0, -18.0, 8.0]))) < 1.0


def test_two_shades_of_one_name_stay_two(tmp_path):
    document, files = {"name": "x"}, {}
    for _ in range(2):
        document, files, _ = own_shades.with_shade(
            document, files, "Sea-green", {"white-rutile": 5.0}, 1e-3, "by hand"
        )
    (tmp_path / "own.toml").write_text(files[own_shades.FILE], "utf-8")
    book = load([tmp_path / "own.toml"])
    assert [i for i, _ in own_shades.own_shades(files)] == ["sea-green-2", "sea-green-3"]
    assert book.get("sea-green-3", "shade").facts["paste_g_per_kg"] == {"white-rutile": 5.0}
    assert book.get("sea-green", "shade").origin != "user"


def tile(size=(1200, 800)) -> bytes:
    """A photo of a green tile beside a grey card, in warm light: every channel scaled."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", size, (70, 60, 50))
    d = ImageDraw.Draw(image)
    d.rectangle((100, 200, 500, 600), fill=(122, 150, 118))
    d.rectangle((700, 200, 1100, 600), fill=(128, 119, 108))
    noise = np.random.default_rng(3).normal(0, 2, (*size[::-1], 1))
    image = Image.fromarray(np.clip(np.asarray(image) + noise, 0, 245).astype(np.uint8))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=95)
    return out.getvalue()


def test_a_colour_is_read_from_a_photo_tapped_without_scripts(client, job_id):
    post = f"/jobs/{job_id}/finish/photo"
    where = send(client, post, {}, files={"file": ("t.jpg", tile(), "image/jpeg")}).headers[
        "location"
    ]
    scale = photo_colour.PLAIN_PX / 1200
    taps = [(130, 230), (470, 230), (470, 570), (130, 570),
            (730, 230), (1070, 230), (1070, 570), (730, 570)]  # fmt: skip
    page = client.get(where, headers=HTML).text
    for x, y in taps:
        mine = Fields(page, where).found
        query = {k: mine.get(k, "") for k in ("area", "card", "kind")}
        query |= {"at.x": str(round(x * scale)), "at.y": str(round(y * scale))}
        page = client.get(where, params=query, headers=HTML).text
    mine = Fields(page, where).found
    corners = photo_colour.corners_in(mine["area"], "area")
    assert len(corners) == 4 and abs(corners[0][0] - 130) < 3
    page = client.get(where, params={**mine, "go": "yes"}, headers=HTML).text
    link = re.search(r'href="(/jobs/[^"]*finish\?lab=[^"]*)"', page)[1].replace("&amp;", "&")
    lab = [float(x) for x in re.search(r"lab=([^&#]*)", link)[1].replace("%3B", ";").replace("+", "")
           .replace("%20", "").split(";")]  # fmt: skip
    # by hand: linear light of tile over card in each channel times 0.18, then CIELAB for D65;
    # the card's own sRGB codes are 118 in neutral light, so tile is about sRGB (112, 150, 129)
    assert lab[0] == pytest.approx(59.0, abs=2.0) and lab[1] < -10 and 0 < lab[2] < 15
    assert "CIEDE2000" in page and "sample board" in page
    match = client.get(link, headers=HTML)
    assert match.status_code == 200 and "The target itself is known to" in match.text
    back = client.get(where, params={**mine, "back": "yes"}, headers=HTML).text
    assert len(photo_colour.corners_in(Fields(back, where).found["card"], "card")) == 3


@pytest.mark.parametrize(
    ("area", "card"),
    [("", ""), ("1,2 3,4 5,6", "1,1 2,1 2,2 1,2"), ("here", ""), ("1,1 2,2 3,3 4,4 5,5", ""),
     ("0,0 9999,0 9999,9999 0,9999", "700,200 1100,200 1100,600 700,600")],
)  # fmt: skip
def test_corners_that_make_no_area_are_refused_at_their_field(client, job_id, area, card):
    post = f"/jobs/{job_id}/finish/photo"
    where = send(client, post, {}, files={"file": ("t.jpg", tile(), "image/jpeg")}).headers[
        "location"
    ]
    page = client.get(where, params={"area": area, "card": card, "go": "yes"}, headers=HTML)
    assert page.status_code == 422 and 'class="problem"' in page.text
    assert client.get(f"{post}/none", headers=HTML).status_code == 404


def test_a_hostile_photo_for_a_colour_is_refused(client, job_id):
    answer = send(client, f"/jobs/{job_id}/finish/photo", {}, 422,
                  {"file": ("t.jpg", b"GIF89a broken", "image/jpeg")})  # fmt: skip
    assert 'class="problem"' in answer.text


NAMES = {"sea-green": "Sea-green", "slate": "Slate", "clear": "Clear", "copper": "Copper"}


def texts_of(score, show) -> dict[str, str]:
    """The fields of all moves as a browser sends them unchanged."""
    out = {}
    for m in moves.views(score, NAMES, show):
        out |= {f["path"]: f["value"] for f in [*m["fields"], *m["uses"]]}
    out |= {f["path"]: f["value"] for f in moves.composition_views(score, show)}
    return out | {f["path"]: f["value"] for f in moves.cup_views(score, NAMES, show)}


@pytest.mark.parametrize("name", ["galley", "cafe-bar", "wet-room"])
@pytest.mark.parametrize("show", [EN, DE, US], ids=["en", "de", "us"])
def test_moves_sent_back_unchanged_are_the_same_score(name, show):
    text = (EXAMPLES / f"scores/{name}.toml").read_text("utf-8")
    score = read_score(tomllib.loads(text))
    again = moves.edited(text, texts_of(score, show), show)
    assert read_score(tomllib.loads(again)) == score


def test_a_move_is_changed_moved_added_and_taken_out():
    score = read_score(tomllib.loads(GALLEY))
    texts = texts_of(score, US)
    changed = read_score(tomllib.loads(moves.edited(
        GALLEY, {**texts, "moves.1.width_mm": "3 in", "moves.1.at_min": "2"}, US
    )))  # fmt: skip
    assert changed.moves[1].width_mm == pytest.approx(76.2) and changed.moves[1].at_min == 2
    kinds = [m.do for m in score.moves]
    up = read_score(tomllib.loads(moves.edited(GALLEY, {**texts, "do": "up.3"}, US)))
    assert [m.do for m in up.moves] == [*kinds[:2], kinds[3], kinds[2], *kinds[4:]]
    gone = read_score(tomllib.loads(moves.edited(GALLEY, {**texts, "do": "gone.3"}, US)))
    assert [m.do for m in gone.moves] == [*kinds[:3], *kinds[4:]]
    more = read_score(
        tomllib.loads(moves.edited(GALLEY, {**texts, "do": "add", "moves.add": "torch"}, US))
    )
    assert [m.do for m in more.moves] == [*kinds, "torch"]


@pytest.mark.parametrize(
    ("path", "text"),
    [("moves.1.width_mm", "wide"), ("moves.1.width_mm", "5 kg"), ("moves.1.wobble", "7"),
     ("moves.0.uses.slate", "95 %"), ("moves.3.strokes", "2.5"), ("moves.1.at_min", "-1 min")],
)  # fmt: skip
def test_a_wrong_move_is_refused_at_its_field(path, text):
    score = read_score(tomllib.loads(GALLEY))
    with pytest.raises(InputError) as err:
        moves.edited(GALLEY, {**texts_of(score, EN), path: text}, EN)
    assert err.value.field.startswith(".".join(path.split(".")[:2])), err.value.line()


def test_the_moves_of_a_job_are_edited_through_its_page(client, job_id):
    url = f"/jobs/{job_id}/finish"
    post = f"{url}/score"
    page = client.get(url, headers=HTML).text
    send(client, post, {**Fields(page, post).found, "do": "text"})
    page = client.get(url, headers=HTML).text
    post = f"{url}/moves"
    mine = Fields(page, post).found
    widths = [k for k in mine if k.endswith(".width_mm")]
    assert widths and len(mine) > 12
    send(client, post, {**mine, widths[0]: "77 mm", "do": "moves"})
    job = client.store.jobs.get(job_id)
    score = read_score(tomllib.loads(job.files[job_from(job.document).finish.score]))
    assert score.moves[int(widths[0].split(".")[1])].width_mm == pytest.approx(77)
    answer = send(client, post, {**mine, widths[0]: "wide", "do": "moves"}, 422)
    assert 'aria-invalid="true"' in answer.text and 'value="wide"' in answer.text
    assert client.store.jobs.get(job_id).revision == job.revision


@pytest.fixture
def drawn(client, job_id) -> str:
    """A job with three variants of its shelf and one board, of one revision, and an older one."""
    from PIL import Image

    store = client.store
    store.pictures.put("old-sheet", job_id, 0, Image.new("RGB", (40, 30)), "top", "sheet", 9)
    for seed in (1, 2, 3):
        for sort in ("sheet", "view", "texture"):
            image = Image.new("RGB", (40, 30), (seed * 40, 80, 90))
            store.pictures.put(
                f"v{seed}-{sort}", job_id, 1, image, "top", sort, seed, "good", {"board": False}
            )
    store.pictures.put(
        "b-sheet", job_id, 1, Image.new("RGB", (40, 30)), "board", "sheet", 1, "", {"board": True}
    )
    return job_id


def test_variants_stand_side_by_side_and_one_is_chosen(client, drawn):
    lots = variants.variants(client.store.pictures.of_job(drawn))
    assert [(x["scene"], [v["seed"] for v in x["variants"]]) for x in lots] == [
        ("top", [1, 2, 3]), ("board", [1])
    ]  # fmt: skip
    assert all(v["show"].sort == "view" for v in lots[0]["variants"])
    page = client.get(f"/jobs/{drawn}/finish", headers=HTML).text
    assert page.count("/pictures/pick") == 3
    send(client, f"/jobs/{drawn}/pictures/pick", {"name": "v2-view"})
    lots = variants.variants(client.store.pictures.of_job(drawn))
    assert [v["picked"] for v in lots[0]["variants"]] == [False, True, False]
    newest = next(p for p in client.store.pictures.of_job(drawn) if p.sort == "view")
    assert newest.name == "v2-view", "board, link and papers show the newest"
    assert "/api/pictures/v2-view.png" in client.get(f"/jobs/{drawn}/board", headers=HTML).text
    look = client.get(f"/jobs/{drawn}/look").content
    assert look == client.store.pictures.data("v2-view", True)
    send(client, f"/jobs/{drawn}/pictures/pick", {"name": "v3-view"})
    lots = variants.variants(client.store.pictures.of_job(drawn))
    assert [v["picked"] for v in lots[0]["variants"]] == [False, False, True]
    send(client, f"/jobs/{drawn}/pictures/pick", {"name": "nothing"}, 404)


def test_three_variants_are_asked_for_at_once(client, job_id, work):
    client.get(f"/jobs/{job_id}/build", headers=HTML)
    work(client)
    page = client.get(f"/jobs/{job_id}/finish", headers=HTML).text
    mine = Fields(page, f"/jobs/{job_id}/pictures").found
    assert mine["many"] == "1", "the first picture comes soonest alone"
    mine["many"] = "3"
    send(client, f"/jobs/{job_id}/pictures", {**mine, "seed": "5"})
    task = client.store.tasks.of_job(job_id, "picture")[0]
    assert task.wants["seeds"] == [5, 6, 7]
    for bad in ({"many": "9"}, {"many": "x"}, {"seed": "-1"}):
        send(client, f"/jobs/{job_id}/pictures", {**mine, **bad}, 422)
    send(client, f"/jobs/{job_id}/pictures/{task.id}/cancel", {})
    assert client.store.tasks.get(task.id).state == "cancelled"
