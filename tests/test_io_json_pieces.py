"""Tables of JSON in pieces are what the standard library's own coder makes of them."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest

from loopwright.io import json_pieces
from loopwright.io.json_pieces import table_of, table_text

WORDS = ("", "a", 'quo"te', "back\\slash", "\n\x00", "é✓", "\ud800", "}", "[1,2]", ",", ":")


def value(dice: random.Random, depth: int = 0) -> Any:
    """Give any value that JSON holds."""
    kind = dice.randrange(7 if depth < 3 else 4)
    if kind == 0:
        return dice.choice((None, True, False))
    if kind == 1:
        return dice.choice((0, -7, 2**70, 0.1, -1e-300, 1e300, -0.0))
    if kind in {2, 3}:
        return dice.choice(WORDS)
    if kind == 4:
        return table(dice, depth + 1)
    return [value(dice, depth + 1) for _ in range(dice.randrange(4))]


def table(dice: random.Random, depth: int = 0) -> dict[str, Any]:
    return {dice.choice(WORDS): value(dice, depth) for _ in range(dice.randrange(5))}


def standard(text: str) -> Any:
    """Give what the standard library reads, or that it reads nothing."""
    try:
        return json.loads(text)
    except ValueError:
        return ValueError


def ours(text: str) -> Any:
    try:
        return table_of(text)
    except ValueError:
        return ValueError


def piecewise(text: str) -> str:
    """Give what is read without the standard library's help for the whole."""
    try:
        return repr(json_pieces._table(text))
    except (ValueError, IndexError):
        return "nothing"


@pytest.mark.parametrize("seed", range(200))
def test_any_table_is_written_and_read_as_the_standard_library_does(seed: int) -> None:
    words = table(random.Random(seed))
    text = table_text(words)
    assert text == json.dumps(words, ensure_ascii=False, separators=(",", ":"))
    assert repr(table_of(text)) == repr(json.loads(text))
    if words:
        assert repr(json_pieces._table(text)) == repr(json.loads(text))  # not as a whole


@pytest.mark.parametrize("seed", range(200))
def test_a_text_of_another_form_or_none_at_all_is_taken_the_same_way(seed: int) -> None:
    dice = random.Random(seed)
    for text in (table_text(table(dice)), json.dumps(table(dice), indent=1),
                 json.dumps(value(dice))):  # fmt: skip
        at = dice.randrange(len(text) + 1)
        spoilt = (text[:at], text[at:], text[:at] + dice.choice('{}[],:"1 ') + text[at:],
                  text[:at] + text[at + 1 :], text + dice.choice(" ,}]x"), " " + text)  # fmt: skip
        for other in (text, *spoilt):
            assert repr(ours(other)) == repr(standard(other))
            assert piecewise(other) in {"nothing", repr(standard(other))}


@pytest.mark.parametrize("text", ["{1:2}", '{"a":[1}', '{"a":[1}}', '{"a":[1,2}2}', '{"a";1}', "}"])
def test_what_looks_like_a_table_but_is_none_is_refused(text: str) -> None:
    assert piecewise(text) == "nothing"
    assert ours(text) is ValueError


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), object()])
def test_what_json_cannot_hold_is_refused(bad: object) -> None:
    for words in ({"a": bad}, {"a": [bad]}):
        with pytest.raises((ValueError, TypeError)):
            table_text(words)


def test_long_lists_go_through_the_coder_item_by_item(monkeypatch: pytest.MonkeyPatch) -> None:
    words = {
        "name": "Invented",
        "none": [],
        "rides": [{"n": n, "line": [[1.5] * 3] * 50} for n in range(40)],
    }
    sizes: list[int] = []

    def read(text: str, at: int) -> Any:
        found, end = json.JSONDecoder().raw_decode(text, at)
        sizes.append(end - at)
        return found, end

    def write(item: Any) -> str:
        text = json.dumps(item, ensure_ascii=False, separators=(",", ":"))
        sizes.append(len(text))
        return text

    monkeypatch.setattr(json_pieces, "_READ", read)
    monkeypatch.setattr(json_pieces, "_write", write)
    text = table_text(words)
    assert table_of(text) == words
    assert max(sizes) < len(text) / 30
