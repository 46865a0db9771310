"""`python -m bot.language`: messages as JSON Lines in, what is read in them out."""

import sys

from bot.language.jsonl import main

sys.exit(main(sys.stdin, sys.stdout))
