"""The command line. Exit codes: 0 done, 1 it did not work, 2 the words of the call are off, 3 see doctor."""

import os
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from service.cli_access import account_app, token_app
from service.cli_record import record_app
from service.errors import GylewatchError
from service.logs import begin_logging
from service.settings import Settings, load_settings
from service.version import __version__

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    help="Watches the temperature of home-brew fermenters. It watches and advises; it switches nothing.",
    pretty_exceptions_enable=False,
)

app.add_typer(record_app, name="record")
app.add_typer(account_app, name="account")
app.add_typer(token_app, name="token")


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"gylewatch {__version__}")
        raise typer.Exit


@app.callback()
def gylewatch(
    _version_asked: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say the version and end.")
    ] = False,
) -> None:
    """Watches the temperature of home-brew fermenters."""


@app.command()
def watch() -> None:
    """Run the service: read the probes, raise alarms, serve the page and the API."""
    settings = load_settings()
    _log(settings)
    from service.main import run  # the whole program: only this command needs it

    run(settings)


@app.command()
def demo() -> None:
    """Run the service with a simulated fermenter, some days into a batch, in a folder made anew."""
    settings = load_settings()
    _log(settings)
    from service.demo import run_demo

    run_demo(settings, typer.echo)


@app.command()
def probes(
    as_json: Annotated[bool, typer.Option("--json", help="Say it as JSON, for machines.")] = False,
) -> None:
    """Say what is on the 1-wire bus, and what the service noted of each probe, with faults explained."""
    settings = load_settings()
    from sensors.onewire import OneWireSource
    from service.probe_record import read_noted
    from service.probe_report import report

    source = OneWireSource(settings.w1_root, monotonic=time.monotonic)
    noted, trouble = read_noted(settings.data_dir, settings.database_url, datetime.now(UTC))
    try:
        report(source, as_json, typer.echo, noted, trouble, settings.mqtt_url is not None)
    finally:
        source.close()


@app.command()
def doctor(
    as_json: Annotated[bool, typer.Option("--json", help="Say it as JSON, for machines.")] = False,
) -> None:
    """Say what is wrong with this installation and how to mend it. Exit code 3: something is to be mended."""
    settings = load_settings()
    from service.doctor.checks import examine
    from service.doctor.gathering import gather
    from service.doctor.telling import tell

    raise typer.Exit(tell(examine(gather(settings, os.environ)), as_json, typer.echo))


@app.command()
def rehearse(
    plan: Annotated[
        str | None, typer.Argument(help="A file with a plan as JSON, or the id of a stored plan.")
    ] = None,
    vessel: Annotated[str | None, typer.Option(help="A vessel of the record, with what it taught.")] = None,
    volume: Annotated[float | None, typer.Option(help="Litres, instead of the vessel's.")] = None,
    og: Annotated[float | None, typer.Option(help="Original gravity; 1.048 unless said.")] = None,
    pitch: Annotated[float | None, typer.Option(help="Pitching temperature, C; else the target.")] = None,
    room: Annotated[float | None, typer.Option(help="Mean of the room, C; else the vessel's own.")] = None,
    swing: Annotated[float, typer.Option(help="How far the room goes up and down in a day, C.")] = 0.0,
    warmest: Annotated[str, typer.Option(help="When the room is warmest.")] = "16:00",
    trace: Annotated[
        Path | None, typer.Option(help="The room instead as a JSON file: hourly numbers, or at and temp_c.")
    ] = None,
    starts: Annotated[str | None, typer.Option(help="When it is pitched, RFC 3339; else now.")] = None,
    wanted: Annotated[str | None, typer.Option(help="When it is wanted: says when to brew.")] = None,
    away: Annotated[
        list[str] | None, typer.Option(help="Nobody is there: two times with .. between; may be repeated.")
    ] = None,
    season: Annotated[
        list[str] | None, typer.Option(help="Also with this mean, such as winter=16; may be repeated.")
    ] = None,
    batch: Annotated[
        str | None, typer.Option(help="Instead of a plan: replay this batch and score what was foretold.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Say it as JSON, for machines.")] = False,
) -> None:
    """Run a plan in a vessel in a room before brewing: strays, what helps; or replay a batch."""
    if (plan is None) == (batch is None):
        raise typer.BadParameter("give either a plan or --batch")
    settings = load_settings()
    from service import rehearse_report as report

    if batch is not None:
        report.replay_batch(settings, batch, as_json, typer.echo)
        return
    given = {
        "vessel_id": vessel,
        "volume_l": volume,
        "og": og,
        "pitch_c": pitch,
        "surroundings_c": report.room_from(room, swing, warmest, trace),
        "starts_at": starts,
        "wanted_at": wanted,
        "away": [report.away_from(one) for one in away or ()],
    }
    ask = report.ask_from(plan or "", given)
    report.rehearse(settings, ask, [report.season_from(s) for s in season or ()], as_json, typer.echo)


def _log(settings: Settings) -> None:
    begin_logging(settings.log, os.environ)


def main() -> None:
    """The program's entry: every refusal is one sentence and a non-zero exit."""
    try:
        app()
    except GylewatchError as refusal:
        typer.echo(f"gylewatch: {refusal}", err=True)
        sys.exit(1)
