"""`python -m hub.cli` is `stringcourse`."""

from hub.cli import main

main()
