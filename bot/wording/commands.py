"""The command line's words about words: what is covered, what it costs, how a language begins."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from bot.wording import costs, coverage, faults, skeleton
from bot.wording.catalogue import ENGLISH, LOCALES, CatalogueError


def register(commands: Any) -> None:
    """Add `coverage`, `segments` and `new-language` to a parser's subcommands.

    Each sets `run`, which takes the arguments and gives the exit code.
    """
    covered = commands.add_parser("coverage", help="how much each language can say")
    covered.add_argument("--back-check", metavar="TAG", help="its cautions, for a native reader")
    costed = commands.add_parser("segments", help="what each reply costs by SMS")
    begun = commands.add_parser("new-language", help="write the two files of a new language")
    begun.add_argument("tag", help="as sw, hi-Latn or pt-MZ")
    for parser, run in ((covered, _coverage), (costed, _segments), (begun, _new_language)):
        parser.add_argument("--locales", type=Path, default=LOCALES, help="the languages' folder")
        parser.set_defaults(run=run)


def _coverage(args: argparse.Namespace) -> int:
    """Print the table and each fault; 1 if anything has to be mended."""
    try:
        if args.back_check:
            return _say(coverage.back_check(args.back_check, args.locales))
        _say(coverage.coverage_table(args.locales))
        found = faults.faults(args.locales, complete=(ENGLISH,))
        _say("\n".join(found))
    except CatalogueError as fault:
        return _fail(fault)
    return 1 if found else 0


def _segments(args: argparse.Namespace) -> int:
    try:
        return _say(costs.segments_table(args.locales))
    except CatalogueError as fault:
        return _fail(fault)


def _new_language(args: argparse.Namespace) -> int:
    try:
        files = skeleton.new_language(args.tag, args.locales)
        for path, text in files.items():
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
    except (CatalogueError, OSError, ValueError) as fault:
        return _fail(fault)
    written = "\n".join(map(str, files))
    return _say(f"{written}\nFill in what is needed first, then look at: stirbell coverage")


def _say(text: str) -> int:
    if text:
        sys.stdout.write(f"{text}\n")
    return 0


def _fail(fault: Exception) -> int:
    sys.stderr.write(f"stirbell: {fault}\n")
    return 1
