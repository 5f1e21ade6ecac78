"""``python -m simprop``."""

from simprop.cli import main

main()
