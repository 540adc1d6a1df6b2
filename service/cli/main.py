"""`framing-quotes`: the group of all commands."""

from __future__ import annotations

from importlib import import_module

import click

COMMANDS = {
    "archived": "archived",
    "create-key": "create_key",
    "deliver": "deliver",
    "estimate": "estimate",
    "export": "export_files",
    "forget-customer": "tidy",
    "import": "imports.command",
    "load-demo": "load_demo",
    "migrate": "migrate",
    "plan": "plan",
    "serve": "serve.command",
    "ticket": "ticket",
    "tidy": "tidy",
    "work": "work",
}
"""The module of each command."""


class Commands(click.Group):
    """Imports a command when it is asked for, so that a server starts with its own code alone."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of all commands."""
        return [*COMMANDS]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return the command of this name; None if there is none."""
        if cmd_name not in COMMANDS:
            return None
        module = import_module(f"service.cli.{COMMANDS[cmd_name]}")
        found = (each for each in vars(module).values() if isinstance(each, click.Command))
        return next((each for each in found if each.name == cmd_name), None)


@click.command(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
def main() -> None:
    """Quotes, cut sizes and bench tickets for picture framers. Settings: see .env.example."""
