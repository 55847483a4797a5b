"""Lets `python -m advisor` do what the command `advisor` does."""

from __future__ import annotations

from advisor.cli.app import main

if __name__ == "__main__":
    main()
