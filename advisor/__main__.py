"""Lets `python -m advisor` do what the `advisor` command does."""

from advisor.cli.app import main

if __name__ == "__main__":
    main()
