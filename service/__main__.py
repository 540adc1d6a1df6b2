"""`python -m service` runs `framing-quotes`."""

from service.cli.main import main

main(prog_name="framing-quotes")
