"""The command line: thin commands over the services; the only place besides web/request.py that ends a transaction."""

from __future__ import annotations

from importlib import import_module

import click
from sqlalchemy.exc import OperationalError

from portal.config import BadSetting
from portal.domain.errors import Refusal

# Each command's module is loaded when it is asked for: a small command does not wait for the large ones.
COMMANDS = {
    "advise": "portal.cli.advise:advise",
    "climate": "portal.cli.climate:climate",
    "club": "portal.cli.club:club",
    "mail": "portal.cli.mail:mail",
    "plan": "portal.cli.plan:plan",
    "serve": "portal.cli.serve:serve",
    "staff": "portal.cli.staff:staff",
    "texture": "portal.cli.texture:texture",
    "upgrade": "portal.cli.upgrade:upgrade",
    "weather": "portal.cli.weather:weather",
    "work": "portal.cli.work:work",
    "workshop": "portal.cli.workshop:workshop",
}


class Commands(click.Group):
    """Loads commands by name, and turns what people can mend into one line instead of a traceback."""

    def list_commands(self, _ctx: click.Context) -> list[str]:
        return sorted(COMMANDS)

    def get_command(self, _ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module, _, name = COMMANDS[cmd_name].partition(":")
        command: click.Command = getattr(import_module(module), name)
        return command

    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except BadSetting as error:
            _end(ctx, str(error), 2)
        except Refusal as error:
            _end(ctx, str(error) or type(error).__name__, 1)
        except OperationalError as error:
            _end(ctx, f"The database cannot be used: {str(error.orig).strip().splitlines()[0]}", 1)
        return None


def _end(ctx: click.Context, words: str, status: int) -> None:
    click.echo(f"rillbook: {words}", err=True)
    ctx.exit(status)


@click.group(name="rillbook", cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="rillbook", prog_name="rillbook")
def main() -> None:
    """Run the web portal of a ski-grinding workshop.

    Settings come from the environment (RILLBOOK_...); the README lists them. A new installation wants these, in order:

    \b
      rillbook upgrade
      rillbook workshop set --name "Hollowmere Ski Grinding" --email desk@hollowmere.example
      rillbook workshop open 2026-11-02 2027-04-30 --weekdays mon,tue,wed,thu,fri --minutes 240
      rillbook staff add mia@hollowmere.example --name "Mia Thornby" --role manager
      rillbook mail send --watch 10 &
      rillbook serve
    """
