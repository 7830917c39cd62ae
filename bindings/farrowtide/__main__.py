"""`python -m farrowtide`."""

from farrowtide.cli import main

main(prog_name="farrowtide")
