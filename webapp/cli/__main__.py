"""`python -m webapp.cli`: the command where it is not on the path."""

from webapp.cli import main

main(prog_name="wayround")
