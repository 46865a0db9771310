import io
import json
from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any

import pytest

from bot.facts import Count, Term
from bot.language.jsonl import line, main, value_of


def _answers(*lines: str) -> list[dict[str, Any]]:
    out = io.StringIO()
    assert main(io.StringIO("".join(text + "\n" for text in lines)), out) == 0
    return [json.loads(answer) for answer in out.getvalue().splitlines()]


def test_a_line_gives_the_values_and_what_is_wanted() -> None:
    message = {"text": "leaf spray 3 tanks of 16 l", "lang": "en", "ref": "2026-03-04T10:00:00"}
    (answer,) = _answers(json.dumps(message))
    assert answer["quantities"] == [{"value": 16, "unit": "litre"}]
    assert answer["counts"] == [{"value": 3, "unit": "tank"}]
    assert answer["request"] == "mix"
    assert answer["slots"]["use"] == {"kind": "use", "name": "leaf"}
    assert answer["question"] is None


def test_further_requests_of_one_message_follow() -> None:
    found = line("stirred both, leaf spray 3 tanks of 16 l", "en", datetime(2026, 3, 4, tzinfo=UTC))
    assert {found["request"], *(more["request"] for more in found["more"])} == {"stir", "mix"}


def test_a_question_says_what_it_asks_and_offers() -> None:
    found = line("leaf spray 1 in 3, 20 l", "en", datetime(2026, 3, 4, tzinfo=UTC))
    assert found["question"]["slot"] == "ratio"
    assert found["question"]["for"] == "mix"
    assert len(found["question"]["options"]) == 2


def test_a_line_that_is_no_message_gives_its_fault_and_the_next_is_read() -> None:
    faults = _answers("nonsense", "", '{"lang": "en"}', '{"text": "2 l", "lang": "qq"}', "[1]")
    assert [answer["fault"].split(":")[0] for answer in faults] == [
        "JSONDecodeError",
        "KeyError",
        "LexiconError",
        "TypeError",
    ]
    (answer,) = _answers('{"text": "2 l"}')
    assert answer["quantities"] == [{"value": 2, "unit": "litre"}]


@pytest.mark.parametrize(
    ("value", "plain"),
    [
        (True, True),
        (Decimal("2.5"), 2.5),
        (Decimal(2), 2),
        (date(2026, 3, 4), "2026-03-04"),
        (time(6, 30), "06:30:00"),
        ((1, "a"), [1, "a"]),
        ({"a": Decimal(1)}, {"a": 1}),
        (Count(Decimal(3), "tank"), {"n": 3, "noun": "tank"}),
        (Term("use", "leaf"), {"kind": "use", "name": "leaf"}),
        (complex(1), "(1+0j)"),
    ],
)
def test_values_become_json(value: Any, plain: Any) -> None:
    assert value_of(value) == plain
