"""``python -m mci``: the same as the console command ``mci``."""

from mci.cli import main

main()
