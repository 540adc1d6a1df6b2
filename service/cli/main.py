"""`framing-quotes`: the group of all commands."""

from __future__ import annotations

import click

from service.cli.archived import archived
from service.cli.create_key import create_key
from service.cli.deliver import deliver
from service.cli.estimate import estimate
from service.cli.export_files import export_files
from service.cli.imports.command import import_files
from service.cli.load_demo import load_demo
from service.cli.migrate import migrate
from service.cli.plan import plan
from service.cli.serve.command import serve
from service.cli.ticket import ticket
from service.cli.tidy import forget_customer, tidy
from service.cli.work import work


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
def main() -> None:
    """Quotes, cut sizes and bench tickets for picture framers. Settings: see .env.example."""


main.add_command(serve)
main.add_command(deliver)
main.add_command(migrate)
main.add_command(create_key)
main.add_command(load_demo)
main.add_command(estimate)
main.add_command(import_files)
main.add_command(export_files)
main.add_command(ticket)
main.add_command(plan)
main.add_command(work)
main.add_command(tidy)
main.add_command(forget_customer)
main.add_command(archived)
