"""Single modules of the page and of the pocket copy in a real Chromium, without a server."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route

import falloff
from falloff.document import parse_document
from falloff.page.asked_balance import asks_text

HOME = Path(falloff.__file__).parent
FOLDERS = {"page": HOME / "page/static", "pocket": HOME / "session/data/pocket"}
ORIGIN = "http://falloff.test"


@pytest.fixture(scope="module")
def window(browser: Browser) -> Iterator[Page]:
    """An empty page that can import the modules."""

    def give(route: Route) -> None:
        _, folder, name = route.request.url.removeprefix("http://").split("/")
        if folder not in FOLDERS:
            route.fulfill(body="<!doctype html><title>Modules</title>", content_type="text/html")
            return
        text = (FOLDERS[folder] / name).read_text("utf-8")
        route.fulfill(body=text, content_type="text/javascript")

    page = browser.new_page()
    page.route(f"{ORIGIN}/**", give)
    page.goto(f"{ORIGIN}/none/none")
    yield page
    page.close()


# What a pocket copy gives back --------------------------------------------------------------

TREE = {
    "setup_order": ["WIDE"],
    "setups": {"WIDE": {"dims": {"BOOK": {"knob": 0.6}, "GLOBE": {"knob": 0.0}}, "without": []}},
    "source_order": ["BOOK", "GLOBE", "WINDOW"],
    "sources": {"BOOK": {"dims": True}, "GLOBE": {"dims": True}, "WINDOW": {"dims": False}},
    "readings": {"face": {}},
    "reading_order": ["face"],
}


@pytest.mark.parametrize(
    ("lit", "book", "on"),
    [
        (["BOOK", "WINDOW"], 0.6, ""),  # as in the setup, whose GLOBE is off
        (["BOOK"], 0.6, "BOOK alone"),  # the daylight was kept out
        (["WINDOW"], 0.0, "WINDOW alone"),
        (["BOOK", "WINDOW"], 0.3, "BOOK at 30 %, WINDOW alone"),
        ([], 0.0, "all but BOOK, GLOBE, WINDOW"),
    ],
)
def test_what_was_on_is_told_where_it_was_not_all_of_the_setup(
    window: Page, lit: list[str], book: float, on: str
) -> None:
    entry = {
        "setup": "WIDE", "name": "face", "value": 320, "unit": "lx", "lit": lit,
        "dims": {"BOOK": book, "GLOBE": 0.0},
    }  # fmt: skip
    text = json.dumps({"falloff_metered": 1, "readings": [entry]})
    told = window.evaluate(
        """async ([text, tree]) => {
          const { metered } = await import("/page/pocket-text.js");
          return metered(text, tree).rows;
        }""",
        [text, TREE],
    )
    assert told == [{"setup": "WIDE", "reading": "face", "value": "320 lx", "on": on}]


# What is wanted, in words -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "state", "miss", "words"),
    [
        ("level", "met", "", "met"),
        ("level", "over", "2/3", "2/3 too bright"),
        ("level", "under", "a little", "a little too dark"),
        ("level", "under", "no light", "no light"),
        ("other", "under", "2 too dark", "2 too dark"),
        ("other", "over", "1 1/3 too far apart", "1 1/3 too far apart"),
        ("other", "over", "", "missed"),
        ("level", "", "", ""),
    ],
)
def test_a_state_is_told_once(window: Page, kind: str, state: str, miss: str, words: str) -> None:
    told = window.evaluate(
        """async (want) => (await import("/page/wants.js")).stateWords(want)""",
        {"state": state, "miss": miss, "target": {"kind": kind}},
    )
    assert told == words


SCENE = """\
falloff: 2
title: A room
units: metric
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 4 m], [0 m, 4 m]]
  height: 2.8 m
  wall_surface: white paint
  ceiling_surface: white paint
  floor_surface: oak floor
cameras: {{A: {{at: [2 m, 0.4 m, 1.5 m], aim: [2 m, 3 m, 1.2 m], lens: 35 mm}}}}
setups: {{WIDE: {{camera: A, stop: T2.8, iso: 800, shutter: 180 deg}}}}
readings:
  face: {{at: [2 m, 2 m, 1.2 m], normal: [0, -1, 0]}}
  back: {{at: [2 m, 3 m, 1.2 m], normal: [0, -1, 0]}}
targets:
  wanted: {{reading: face, level: {level}{more}}}
"""


@pytest.mark.parametrize(
    ("level", "more", "words"),
    [
        ("-2.5 stops", "", "2.5 under key"),
        ("1.3 stops", "", "1 1/3 over key"),  # so near a third it is told as one
        ("0 stops", "", "at key"),
        ("0 stops", ", over: back", "level with back"),
        ("1 stop", ", over: back, limit: at most", "at most 1 over back"),
        ("0.5 stops", ", limit: at least", "at least 0.5 over key"),
    ],
)
def test_what_a_level_target_asks_is_told_alike_everywhere(
    window: Page, level: str, more: str, words: str
) -> None:
    """pencil: thirds as meters tell them, tenths where it was written so."""
    document = parse_document(SCENE.format(level=level, more=more))
    target = document.targets["wanted"]
    assert asks_text(document, target) == words
    told = {
        "level_stops": target.level.si,  # type: ignore[union-attr]
        "over": target.over,  # type: ignore[union-attr]
        "limit": target.limit,  # type: ignore[union-attr]
        "reading": "face", "readings": ["face"], "kind": "level", "setups": [],
    }  # fmt: skip
    on_page, on_phone = window.evaluate(
        """async (target) => {
          const { wantsOf } = await import("/page/wants.js");
          const { askedOf } = await import("/pocket/words.js");
          const app = { tree: { targets: { wanted: target } } };
          const [want] = wantsOf(app, "WIDE", new Map());
          return [want.asks, askedOf(target, target.over ?? "key").replaceAll("\\u00a0", " ")];
        }""",
        told,
    )
    assert (on_page, on_phone) == (words, words)


# Whether an answer is of how things are -----------------------------------------------------

STALE = """async (walk) => {
  const { Question } = await import("/page/question.js");
  const tree = (dim) => ({ setups: { dim }, sources: {}, targets: {}, readings: {}, plans: {} });
  const heard = [];
  const app = {
    tree: tree(0), trying: { now: null, from: null }, look: { state: { setup: "WIDE" } },
    job: () => ({ done: Promise.resolve({ answer: { says: ["so"] } }), cancel() {} }),
  };
  const watch = (_, call) => { heard.push(call); return () => {}; };
  app.store = { watch };
  app.look.watch = watch;
  const made = () => new Question(app, "balance", { words: "Asking", render: () => [] });
  const [one, other] = [made(), made()];
  one.ask({});
  other.ask({});
  await Promise.resolve();
  await Promise.resolve();
  const told = [];
  for (const [dim, from] of walk) {
    app.tree = tree(dim);
    heard.forEach((call) => call());
    const question = { one, other }[from] ?? null;
    const same = from !== null && app.trying.from === question;
    const step = same ? app.trying.now : { step: 1, label: from };
    app.trying = { now: from === null ? null : step, from: question };
    heard.forEach((call) => call());
    told.push([!one.stale.hidden, !other.stale.hidden]);
  }
  return told;
}"""


def test_an_answer_is_called_old_while_another_change_is_tried(window: Page) -> None:
    walk: list[list[Any]] = [
        [0, None],  # asked
        [1, "one"],  # its own step is tried
        [2, "one"],  # and something else changed beside it
        [1, "one"],  # which is undone
        [0, None],  # the step is put back
        [3, "other"],  # a step of the other answer is tried
        [4, "nobody"],  # a step of none
        [0, None],
    ]
    assert window.evaluate(STALE, walk) == [
        [False, False], [False, True], [True, True], [False, True], [False, False], [True, False],
        [True, True], [False, False],
    ]  # fmt: skip
