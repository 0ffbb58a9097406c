"""Allows `python -m planner`."""

from planner.cli.main import run

if __name__ == "__main__":
    run()
