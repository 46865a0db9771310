"""A reply: its form by length and alphabet, its pages, its buttons."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from bot.facts import Fact, Option, Question, Request, Term
from bot.messages import Manner
from bot.wording import segments
from bot.wording.say import say
from bot.wording.voice import Voice

SMS = Manner(one_message=160, alphabet="gsm7", pages=1)
CHAT = Manner(one_message=4096, alphabet="any")

HEAD = r"""msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\n"

msgid "more"
msgstr "More: send MORE"

msgid "brew.fed"
msgstr "feed the brew {name} with all that was set aside for it since it was begun here"

msgid "brew.fed.short"
msgstr "feed {name}"

msgid "story"
msgstr "{text}"

msgid "ask"
msgstr "Which use?"

msgid "use.leaf"
msgstr "leaf spray"
"""


@dataclass(frozen=True, slots=True)
class Fed(Fact):
    words = "brew.fed"
    name: str


@dataclass(frozen=True, slots=True)
class Story(Fact):
    words = "story"
    text: str


@dataclass(frozen=True, slots=True)
class Ask(Fact):
    words = "ask"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    (tmp_path / "en").mkdir()
    (tmp_path / "en" / "messages.po").write_text(HEAD, encoding="utf-8")
    return tmp_path


def test_the_long_form_is_said_where_it_fits(root: Path) -> None:
    worded = say([Fed("N1")], Voice(), SMS, root=root)
    assert worded.pages == (
        "Feed the brew N1 with all that was set aside for it since it was begun here",
    )
    assert worded.fell_back == ()


def test_the_last_clauses_are_shortened_first(root: Path) -> None:
    facts = [Fed("N1"), Fed("the second"), Fed("N3")]
    [page] = say(facts, Voice(), SMS, root=root).pages
    assert page.split("\n") == [
        "Feed the brew N1 with all that was set aside for it since it was begun here",
        "Feed the second",
        "Feed N3",
    ]


def test_a_chat_has_room_for_everything(root: Path) -> None:
    [page] = say([Fed("N1"), Fed("N2"), Fed("N3")], Voice(), CHAT, root=root).pages
    assert page.count("set aside") == 3


def test_pages_end_in_the_hint_and_lose_no_word(root: Path) -> None:
    words = [f"word{n}" for n in range(120)]
    pages = say([Story(" ".join(words))], Voice(), SMS, root=root).pages
    assert len(pages) > 3
    assert all(segments.segments(page) == 1 for page in pages)
    assert all(page.endswith("\nMore: send MORE") for page in pages[:-1])
    said = " ".join(page.removesuffix("\nMore: send MORE") for page in pages)
    assert said.lower().split() == words


def test_pages_are_cut_between_clauses_where_that_wastes_little(root: Path) -> None:
    first, second = "A" * 90, "b" * 90
    pages = say([Story(first), Story(second)], Voice(), SMS, root=root).pages
    assert pages == (f"{first}\nMore: send MORE", second.capitalize())


def test_a_word_longer_than_a_page_is_cut_anywhere(root: Path) -> None:
    pages = say([Story("x" * 400)], Voice(), SMS, root=root).pages
    assert "".join(page.removesuffix("\nMore: send MORE") for page in pages) == "X" + "x" * 399


def test_a_script_beyond_gsm_has_two_segments_a_page(root: Path) -> None:
    one = say([Story("क" * 134)], Voice(), SMS, root=root).pages
    two = say([Story("क" * 135)], Voice(), SMS, root=root).pages
    assert [segments.segments(page) for page in one] == [2]
    assert len(two) == 2


def test_a_channel_with_several_parts_a_page_uses_them(root: Path) -> None:
    manner = Manner(one_message=160, alphabet="gsm7", pages=2)
    assert len(say([Story("a " * 150)], Voice(), manner, root=root).pages) == 1


def test_accents_stay_unless_the_reader_asked_for_plain_letters(root: Path) -> None:
    story = [Story("mañana está")]
    assert say(story, Voice(), SMS, root=root).pages == ("Mañana está",)
    assert say(story, Voice(plain_letters=True), SMS, root=root).pages == ("Mañana esta",)
    assert say(story, Voice(plain_letters=True), CHAT, root=root).pages == ("Mañana esta",)


def test_typography_alone_never_costs_an_sms_its_alphabet(root: Path) -> None:
    assert say([Story("4 L – 6 L…")], Voice(), SMS, root=root).pages == ("4 L - 6 L...",)
    assert say([Story("4 L – 6 L…")], Voice(), CHAT, root=root).pages == ("4 L – 6 L…",)


def test_options_are_buttons_or_numbers(root: Path) -> None:
    options = (Option(1, Term("use", "leaf")), Option(2, "soil"))
    question = Question(Ask(), Request("mix"), "use", options)
    numbered = say([], Voice(), SMS, question=question, root=root)
    assert numbered.pages == ("Which use?\n1 = leaf spray, 2 = soil",)
    assert numbered.buttons == ()
    pressed = say([], Voice(), Manner(buttons=True), question=question, root=root)
    assert pressed.pages == ("Which use?",)
    assert pressed.buttons == ("leaf spray", "soil")


def test_nothing_to_say_is_one_empty_page(root: Path) -> None:
    assert say([], Voice(), SMS, root=root).pages == ("",)
