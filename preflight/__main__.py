"""`python -m preflight`."""

from preflight.cli import main

main()
