"""``python -m planner`` does what the command ``planner`` does."""

from planner.cli.main import main

main()
