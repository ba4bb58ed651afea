"""The words of a request: what is put in new, what goes elsewhere, and where a part goes that is fitted."""

from __future__ import annotations

from typing import Any

import pytest

from buildcheck.library.problems import InputError
from buildcheck.library.requests import read_request
from buildcheck.model.bikes import Change, Placing
from laws.bench import bike, catalogue

REFUSED: list[tuple[str, dict[str, list[str]], str]] = [
    ("tourer-cable", {"renew": ["chian"]}, "'chian' is not a position of a bike — did you mean \"chain\"?"),
    ("track", {"renew": ["rear-derailleur"]}, "nothing sits in 'rear-derailleur' on this bike"),
    ("tourer-cable", {"renew": ["chain"], "take_off": ["chain"]}, "cannot be put in new as well"),
    ("tourer-cable", {"renew": ["stem"], "fit": ["tolverne-alder-110@stem"]}, "leave one of the two out"),
    ("tourer-cable", {"move": ["stem"]}, "say where 'stem' goes: stem,on=POSITION"),
    ("tourer-cable", {"move": ["stem,onto=spacer-1"]}, "one of on=POSITION, place=PLACE"),
    ("tourer-cable", {"move": ["stem,on"]}, "is expected, not 'on'"),
    ("tourer-cable", {"move": ["stem,on=spacer-1,on=spacer-2"]}, "on is said twice"),
    ("tourer-cable", {"move": ["stem,on=spacer-9"]}, "nothing sits in 'spacer-9' on this bike"),
    ("tourer-cable", {"move": ["stem,on=saddle"]}, "it goes on headset-cover or spacer-1 or spacer-2"),
    ("tourer-cable", {"move": ["stem,on=fork"]}, "cannot be mounted on 'fork'"),
    ("tourer-cable", {"move": ["spacer-2,on=headset-upper"]}, "it goes on headset-cover or spacer-1 or stem"),
    ("tourer-cable", {"move": ["stem,on=stem"]}, "cannot be mounted on itself"),
    ("tourer-cable", {"move": ["saddle,to=frame"]}, "'saddle' is no line"),
    ("tourer-cable", {"move": ["rear-shift-line,to=saddle"]}, "'rear-shift-line' runs to"),
    ("tourer-cable", {"move": ["rear-shift-line,to=rear-hub"]}, "nothing sits there"),
    ("tourer-cable", {"move": ["rear-shift-line,on=frame"]}, "is mounted on nothing"),
    ("tourer-cable", {"move": ["accessory-bottle-1,place=botle-2"]}, 'did you mean "bottle-2"?'),
    ("tourer-cable", {"move": ["accessory-lamp,on=frame,place=crown"]}, "'frame' has no place 'crown'"),
    ("tourer-cable", {"move": ["stem,on=spacer-1", "stem,on=spacer-2"]}, "said twice where 'stem' goes"),
    ("tourer-cable", {"move": ["stem,on=spacer-1"], "take_off": ["stem"]}, "it cannot go elsewhere"),
    ("tourer-cable", {"move": ["stem,on=spacer-1"], "fit": ["tolverne-alder-110@stem"]}, "PART@stem,on=POSITION"),
    ("tourer-cable", {"move": ["stem,on=spacer-2"], "take_off": ["spacer-2"]}, "nothing sits in 'spacer-2'"),
]  # fmt: skip


def asked(name: str, **words: list[str]) -> Change:
    return read_request(words, bike(name), catalogue())


@pytest.mark.parametrize(("name", "words", "why"), REFUSED)
def test_what_cannot_be_asked_is_refused_with_what_can(name: str, words: dict[str, list[str]], why: str) -> None:
    with pytest.raises(InputError) as refused:
        asked(name, **words)
    assert why in str(refused.value)


@pytest.mark.parametrize(
    ("words", "made"),
    [
        ({"renew": ["chain", "chain"]}, {"renew": ("chain",)}),
        ({"move": ["spacer-2, on = stem"]}, {"placed": (Placing("spacer-2", on="stem"),)}),
        (
            {"move": ["accessory-bottle-1,place=bottle-2"]},
            {"placed": (Placing("accessory-bottle-1", "frame", "bottle-2"),)},
        ),
        (
            {"fit": ["tolverne-alder-110@stem,on=spacer-1"]},
            {"fit": (("tolverne-alder-110", "stem"),), "placed": (Placing("stem", on="spacer-1"),)},
        ),
        (
            {"fit": ["pellhurst-shift-2000@rear-shift-line,from=lever-left,to=rear-derailleur"]},
            {
                "fit": (("pellhurst-shift-2000", "rear-shift-line"),),
                "placed": (Placing("rear-shift-line", start="lever-left", end="rear-derailleur"),),
            },
        ),
    ],
)  # fmt: skip
def test_a_request_becomes_a_change(words: dict[str, list[str]], made: dict[str, Any]) -> None:
    assert asked("tourer-cable", **words) == Change(**made)


def test_a_change_names_every_position_that_was_spoken_of() -> None:
    change = asked("tourer-cable", renew=["chain"], move=["stem,on=spacer-1"], take_off=["saddle"])
    assert change.positions == {"chain", "stem", "saddle"}
    assert not Change().positions
