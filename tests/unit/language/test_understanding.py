"""What a message asks: one or several requests, a question, or what was not understood."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest

from bot.craft.units import Quantity
from bot.facts import Count, Duration, Every, Option, Per, Question, Ratio, Request, Span, Term
from bot.language import Hearing, Understood, tongues, understand
from bot.language.doubts import (
    EveryOrIn,
    ForWhat,
    NoSuchDay,
    NotAnAmount,
    NothingWritten,
    NotUnderstood,
    TooLong,
    TooMuch,
    WhichRatio,
    WordUnknown,
)
from bot.language.examples import examples, hearing, plain, right, written

HEARD = tongues()
ENGLISH = hearing("en")
LEAF = Term("use", "leaf")


def said(text: str, **told: Any) -> Understood:
    return understand(text, HEARD, replace(ENGLISH, **told))


def asked(text: str, question: Question) -> tuple[Request, ...]:
    return said(text, pending=(question,)).requests


WHAT_TANK = Question(
    NotUnderstood("16 litres"),
    Request("mix", {"use": LEAF, "tanks": Count(Decimal(3), "tank")}),
    "tank",
)
WHAT_USE = Question(
    NotUnderstood("leaf"),
    Request("mix", {"tanks": Count(Decimal(2), "tank")}),
    "use",
    (Option(LEAF, LEAF), Option(Term("use", "soil"), Term("use", "soil"))),
)
WHICH_BARREL = Question(
    NotUnderstood("b1"),
    Request("look", {"verdict": Term("verdict", "ready")}),
    "which",
    (Option(("B1",), "B1"), Option(("B2",), "B2")),
)
SURE = Question(
    NotUnderstood("yes"),
    Request("forget", {}),
    "sure",
    (Option(value=True, label="yes"), Option(value=False, label="no")),
)


# --- the answer to an open question --------------------------------------------------------------


@pytest.mark.parametrize("text", ["16 litres", "16", "16l", "it is 16 l", "16 litres pls"])
def test_a_bare_amount_or_number_fills_the_slot_that_was_asked(text: str) -> None:
    (request,) = asked(text, WHAT_TANK)
    assert request == WHAT_TANK.request.with_slots(tank=Quantity(Decimal(16), "litre"))


@pytest.mark.parametrize("text", ["leaf", "leaf spray please", "1", "foliar"])
def test_an_option_is_picked_by_its_word_or_its_number(text: str) -> None:
    (request,) = asked(text, WHAT_USE)
    assert request.slots["use"] == LEAF


@pytest.mark.parametrize("text", ["b2", "B2 please", "barrel 2", "2"])
def test_a_barrel_is_picked_by_code_or_number(text: str) -> None:
    (request,) = asked(text, WHICH_BARREL)
    assert request == Request("look", {"verdict": Term("verdict", "ready"), "which": ("B2",)})


@pytest.mark.parametrize(("text", "sure"), [("yes", True), ("no", False), ("ok", True)])
def test_yes_and_no_pick_their_options(text: str, sure: bool) -> None:
    (request,) = asked(text, SURE)
    assert request.slots["sure"] is sure


@pytest.mark.parametrize(
    ("text", "kind"), [("stirred", "stir"), ("undo", "undo"), ("used 20 l", "draw")]
)
def test_another_request_is_no_answer(text: str, kind: str) -> None:
    (request,) = asked(text, WHAT_TANK)
    assert request.kind == kind


def test_the_newest_question_that_fits_is_answered() -> None:
    understood = said("16 l", pending=(WHICH_BARREL, WHAT_TANK))
    assert understood.requests[0].kind == "mix"


def test_an_answer_may_say_something_else_as_well() -> None:
    first, second = asked("16 litres, and stirred both", WHAT_TANK)
    assert first.slots["tank"] == Quantity(Decimal(16), "litre")
    assert second == Request("stir", {"which": ("all",)})


def test_weekdays_are_no_answer_to_yes_or_no() -> None:
    (request,) = asked("late, will spray tuesday", SURE)
    assert request.kind == "late"


@pytest.mark.parametrize(
    ("slot", "request_kind", "text", "value"),
    [
        ("amount", "draw", "150", Quantity(Decimal(150), "litre")),
        ("weight", "seed", "10", Quantity(Decimal(10), "kilogram")),
        ("every", "rounds", "10", Every(10, "day")),
        ("every", "rounds", "every 10 days", Every(10, "day")),
        ("times", "rounds", "4", 4),
        ("tanks", "rounds", "3", Count(Decimal(3), "tank")),
        ("which", "finish", "2", ("2",)),
        ("temperature", "temperature", "28", Quantity(Decimal(28), "degree_celsius")),
        ("place", "settings", "Green Hill", "Green Hill"),
        ("crop", "rounds", "dragonfruit", "dragonfruit"),
        ("start", "rounds", "tomorrow", date(2026, 3, 5)),
    ],
)
def test_each_type_of_slot_takes_its_bare_answer(
    slot: str, request_kind: str, text: str, value: object
) -> None:
    question = Question(NotUnderstood("x"), Request(request_kind, {}), slot)
    (request,) = asked(text, question)
    assert request.slots[slot] == value


# --- what can be read in two ways ----------------------------------------------------------------


def test_one_in_three_is_asked_once() -> None:
    understood = said("leaf spray 1 in 3 for 20 litres")
    question = understood.question
    assert question is not None
    assert isinstance(question.ask, WhichRatio)
    readings = {option.value for option in question.options}
    assert readings == {Ratio(Decimal(1), Decimal(2)), Ratio(Decimal(1), Decimal(3))}
    settled, request = asked("2", question)
    assert settled == Request("settings", {"ratio_reading": Term("reading", "parts")})
    assert request.slots["ratio"] == Ratio(Decimal(1), Decimal(3))
    assert request.slots["mix"] == Quantity(Decimal(20), "litre")


@pytest.mark.parametrize(("reading", "water"), [("parts", 3), ("total", 2)])
def test_a_settled_reading_is_not_asked_again(reading: str, water: int) -> None:
    for settled in (reading, Term("reading", reading)):
        (request,) = said("dilute 1/3", settled={"ratio_reading": settled}).requests
        assert request.slots["ratio"] == Ratio(Decimal(1), Decimal(water))


def test_bare_days_are_every_or_once() -> None:
    question = said("spray maize 5 days").question
    assert question is not None
    assert isinstance(question.ask, EveryOrIn)
    every, once = question.options
    assert (every.value, once.value) == (Every(5, "day"), date(2026, 3, 9))
    (request,) = asked("1", question)
    assert request.slots["every"] == Every(5, "day")
    (request,) = asked("2", question)
    assert request.slots["start"] == date(2026, 3, 9)


def test_a_number_that_may_be_litres_is_asked() -> None:
    question = said("used 2001").question
    assert question is not None
    values = [option.value for option in question.options]
    assert Quantity(Decimal(200), "litre") in values


# --- which day -----------------------------------------------------------------------------------


def test_relative_days_count_from_when_it_was_said_in_the_members_zone() -> None:
    late = datetime(2026, 3, 4, 23, 30, tzinfo=UTC)  # already Thursday in Nairobi
    (request,) = said("stirred yesterday", said_at=late).requests
    assert request.slots["on"] == date(2026, 3, 4)
    (request,) = said("stirred yesterday", said_at=late, zone="America/Lima").requests
    assert request.slots["on"] == date(2026, 3, 3)


def test_a_day_to_come_is_next_year_rather_than_months_ago() -> None:
    (request,) = said("harvest tomato 20 january").requests
    assert request.slots["on"] == date(2027, 1, 20)
    (request,) = said("harvest tomato 20 january 2026").requests
    assert request.slots["on"] == date(2026, 1, 20)


# --- several, and around -------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "Hello sir, pls i need leaf spray for 2 tanks of 15 litres thank you",
        "2 tanks 15 l leaf spray",
        "LEAF SPRAY 2 TANKS 15L!!!",
        "leaf spray, 2 tanks of 15 litres",
        "how much leaf spray for 2 tanks of 15 l?",
        "leef spray 2 tnks 15 litrs",
    ],
)
def test_the_same_need_in_other_words_is_the_same_request(text: str) -> None:
    (request,) = said(text).requests
    assert request == Request(
        "mix",
        {"use": LEAF, "tanks": Count(Decimal(2), "tank"), "tank": Quantity(Decimal(15), "litre")},
    )


def test_several_requests_in_one_message_keep_their_order() -> None:
    kinds = [request.kind for request in said("stirred b1. b2 smells bad, used 20 l").requests]
    assert kinds == ["stir", "look", "draw"]


@pytest.mark.parametrize("word", ["end", "cancel", "quit", "stop", "STOP", "End.", "stop pls"])
def test_the_words_that_stop_stop_alone(word: str) -> None:
    assert said(word).requests == (Request("stop"),)


@pytest.mark.parametrize(
    "text", ["end of the season harvest tomato", "cancel this round", "stop stirring b1"]
)
def test_the_words_that_stop_do_not_stop_within_other_sentences(text: str) -> None:
    assert all(request.kind != "stop" for request in said(text).requests)


@pytest.mark.parametrize("text", ["is b1 ready?", "b1 ready?", "stirred?", "b1 stirred?"])
def test_a_question_records_nothing(text: str) -> None:
    (request,) = said(text).requests
    assert request.kind == "barrels"


def test_what_was_not_done_is_not_recorded_as_done() -> None:
    for text in ("did not stir today", "nobody stirred", "forgot to stir"):
        (request,) = said(text).requests
        assert request.slots["done"] is False
    (request,) = said("can't stir today").requests
    assert request.kind == "rota"


# --- what cannot be understood -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "doubt"),
    [
        ("", NothingWritten),
        (" \n\t ", NothingWritten),
        ("?!", NothingWritten),
        ("\x00\x01", NothingWritten),
        ("🌱🌱", NothingWritten),
        ("blorp", WordUnknown),
        ("中文消息", WordUnknown),
        ("one fine day my cousin bought seven goats near town centre market", NotUnderstood),
        ("word " * 2000, TooLong),
        ("16 litres", ForWhat),
        ("leaf spray 0 tanks", NotAnAmount),
        ("used 0 l", NotAnAmount),
        ("used -5 l", NotAnAmount),
        ("1:0 for 0 l leaf", NotAnAmount),
        ("started 900000000 l", TooMuch),
        ("drench 99999999 plants 250 ml each", TooMuch),
        ("spraying tomato from 31 feb every 10 days", NoSuchDay),
        ("sprayed 30/2", NoSuchDay),
        ("harvest tomato 20 may 2099", NoSuchDay),
    ],
)
def test_what_cannot_be_is_said_back_with_an_example_that_works(text: str, doubt: type) -> None:
    understood = said(text)
    assert isinstance(understood.doubt, doubt)
    assert not understood.requests
    assert said(getattr(understood.doubt, "example", "")).requests


def test_what_was_clear_before_a_doubt_is_kept() -> None:
    understood = said("stirred both, used 0 l")
    assert [request.kind for request in understood.requests] == ["stir"]
    assert isinstance(understood.doubt, NotAnAmount)


# --- languages -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "tag"),
    [
        ("leaf spray 3 tanks of 16 litres", "en"),
        ("पत्ती छिड़काव 3 टंकी 16 लीटर", "hi"),
        ("patti spray 3 tanki kitna culture", "hi-Latn"),
        ("dawa ya majani matangi 3 ya lita 16", "sw"),
        ("cuánto cultivo para 3 mochilas de 16 litros", "es"),
        ("combien de culture pour 3 pulvérisateurs de 16 litres", "fr"),
        ("quanto de cultura para 3 bombas de 16 litros", "pt"),
    ],
)
def test_the_first_message_tells_its_language(text: str, tag: str) -> None:
    understood = understand(text, HEARD, replace(ENGLISH, language=""))
    assert understood.language == tag
    (request,) = understood.requests
    assert request.kind == "mix"
    assert request.slots["tanks"] == Count(Decimal(3), request.slots["tanks"].noun)


def test_nobodys_language_falls_to_english() -> None:
    assert understand("xqzw", HEARD, replace(ENGLISH, language="")).language == "en"


@pytest.mark.parametrize("tag", sorted(HEARD))
@pytest.mark.parametrize(
    ("text", "to"), [("language hindi", "hi"), ("language swahili", "sw"), ("english", "en")]
)
def test_a_language_is_changed_by_its_english_name_in_any_language(
    tag: str, text: str, to: str
) -> None:
    understood = understand(text, HEARD, replace(ENGLISH, language=tag))
    assert understood.requests == (Request("settings", {"language": to}),)


def test_another_language_is_understood_where_the_members_own_is_not() -> None:
    understood = said("nimekoroga yote mawili")
    assert understood.language == "sw"
    assert understood.requests == (Request("stir", {"which": ("all",)}),)


# --- how examples are written --------------------------------------------------------------------


def test_every_value_has_a_plain_form() -> None:
    litre = Quantity(Decimal("1.50"), "litre")
    assert plain(litre) == "1.5_litre"
    assert plain(Per(litre, Count(Decimal(1), "plant"))) == "1.5_litre/1_plant"
    assert plain(Per(litre, Quantity(Decimal(1), "acre"))) == "1.5_litre/1_acre"
    assert plain(Span(litre, litre)) == "1.5_litre..1.5_litre"
    assert plain(Duration(Decimal(25), "second")) == "25_second"
    assert plain((True, False)) == "yes+no"
    assert plain(datetime(2026, 3, 4, 6, tzinfo=UTC)) == "2026-03-04T09:00"


def test_lines_compare_whatever_the_order_of_slots() -> None:
    assert right("mix use=leaf tanks=3", "mix tanks=3 use=leaf")
    assert not right("mix use=leaf", "mix use=soil")
    assert written(said("blorp")) == "! doubt.word_unknown"


def test_an_example_without_an_arrow_is_a_fault() -> None:
    with pytest.raises(ValueError, match="has no =>"):
        examples("xx", {"examples": {"requests": {"said": "# fine\n\nleaf spray"}}})


def test_hearing_defaults_need_only_the_moment() -> None:
    understood = understand("stirred", HEARD, Hearing(datetime(2026, 3, 4, tzinfo=UTC)))
    assert understood.requests == (Request("stir"),)


# --- corners -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("soil drench tomato 90 cm x 60 cm half acre", "mix"),
        ("soil drench spacing 90 x 60 cm half acre", "mix"),
        ("spraying tomato every 10 days for 4", "rounds"),
        ("used up all of b2", "draw"),
        ("nozzle 2 l/min", "sprayer"),
        ("spraying tomato every 0 days", "! doubt.not_an_amount"),
        ("leaf spray 0:3 for 20 litres", "! doubt.not_an_amount"),
        ("leaf spray 2-3 litres", "mix"),
        ("stirred the barrel under the tree", "stir"),
        ("heap 20 kg 10 kg", "heap"),
        ("aphids 2001", "sick"),
        ("leaf spray 40 litres in all, 2 tanks", "mix"),
        ("leaf spray 40 litres for my 2 tanks", "mix"),
        ("price is 40", "cost"),
        ("stirred b1, used 2001", "stir which=B1 & ? amount doubt.which_reading"),
        ("heap at 330 kelvin", "heap"),
        ("used 2 handfuls", "!"),
    ],
)
def test_corners_of_what_is_said(text: str, wanted: str) -> None:
    understood = said(text)
    line = written(understood)
    assert line.startswith(wanted)


def test_a_round_counted_in_sprays_keeps_a_plain_number() -> None:
    (request,) = said("spraying tomato from 5 march every 10 days 4 sprays").requests
    assert request.slots["times"] == 4


def test_answers_that_fit_nothing_leave_the_question_alone() -> None:
    assert asked("7", WHAT_USE) == (Request("number", {"n": 7}),)
    question = Question(NotUnderstood("x"), Request("nothing_known", {}), "slot")
    assert asked("7", question) == (Request("number", {"n": 7}),)
    assert said("tomorrow", pending=(question,)).requests[0].kind == "today"
    assert said("stirred, 16 l", pending=(question,)).requests[0].kind == "stir"
    assert asked("blorp", question) == ()
    question = Question(NotUnderstood("x"), Request("settings", {}), "digits")
    assert asked("7", question) == (Request("number", {"n": 7}),)


def test_an_answer_of_the_same_kind_brings_its_other_slots() -> None:
    question = Question(NotUnderstood("x"), Request("mix", {"use": LEAF}), "tanks")
    (request,) = asked("mix 3 tanks of 16 l", question)
    assert request.slots["tanks"] == Count(Decimal(3), "tank")
    assert request.slots["tank"] == Quantity(Decimal(16), "litre")


def test_a_name_of_nothing_but_marks_is_no_name() -> None:
    assert said("stirred b1", names={"barrel": ("B1", "!")}).requests[0].slots["which"] == ("B1",)


def test_other_slots_than_the_asked_one_may_be_answered() -> None:
    question = Question(NotUnderstood("x"), Request("mix", {"use": LEAF}), "per")
    (request,) = asked("3 tanks of 16 l", question)
    assert request.slots["tanks"] == Count(Decimal(3), "tank")


def test_words_without_end_are_forgotten_before_they_fill_the_memory() -> None:
    cues = HEARD["en"].cues
    for place in range(20_100):
        cues.symbols(f"xq{place}")
    assert len(cues._known) <= 20_001
    assert said("stirred").requests == (Request("stir"),)
