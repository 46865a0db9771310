"""`python -m bot` is the same as `stirbell`."""

from bot.cli import main

if __name__ == "__main__":
    raise SystemExit(main())
