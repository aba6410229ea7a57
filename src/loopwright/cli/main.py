"""The command line: thin commands over the same functions as the window.

Gets arguments, gives an exit code: 0 done, 1 the honest answer is no, 2 wrong use. Promises: every
problem is one line on stderr, never a traceback without ``--debug``; ``--help`` is instant.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path
from typing import NoReturn

from loopwright import __version__
from loopwright.errors import LoopwrightError, UsageError, one_line

SAFETY = (
    "Estimates, not promises. Check that the trail is open and legal for bikes, walk it first, "
    "ride within your ability in protective gear, and ride no laps where others are about. Local "
    "rules, land managers and qualified coaches or doctors decide."
)


class Parser(argparse.ArgumentParser):
    """A parser whose complaints are one line."""

    def error(self, message: str) -> NoReturn:
        """Raise instead of printing usage over several lines."""
        raise UsageError(f"{self.prog}: {message}; see {self.prog} --help")


def build_parser() -> Parser:
    """Describe all commands."""
    parser = Parser(
        prog="loopwright", description="Practice loops from recorded rides.", epilog=SAFETY
    )
    parser.add_argument("--version", action="version", version=f"loopwright {__version__}")
    shared = Parser(add_help=False)
    shared.add_argument("--now", metavar="TIME", help="take this as the time, instead of the clock")
    shared.add_argument("--debug", action="store_true", help="show where an error comes from")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", parser_class=Parser)

    def command(name: str, words: str) -> argparse.ArgumentParser:
        made = commands.add_parser(
            name, help=words, description=words, parents=[shared], epilog=SAFETY
        )
        if name not in WITHOUT_AREA:
            made.add_argument("area", type=Path, metavar="AREA")
        return made

    _describe_rides(command)
    _describe_loops(command)
    _describe_after(command)
    return parser


def _describe_rides(command: Callable[[str, str], argparse.ArgumentParser]) -> None:
    p = command("import", "make an area from recorded rides, or add rides to it")
    p.add_argument("sources", nargs="+", type=Path, metavar="TRACK_OR_FOLDER")
    p.add_argument(
        "--heights", type=Path, metavar="FILE", help="GeoTIFF or HGT, if rides have none"
    )
    p.add_argument("--race", action="store_true", help="race laps to copy, not rides to build from")
    p.add_argument(
        "--split", action="store_true", help="rides too far away make areas of their own"
    )
    p = command("tag", "say what the ground is like along a line")
    p.add_argument("--line", required=True, type=Path, metavar="FILE.geojson")
    p.add_argument("--surface", metavar="V", help="OpenStreetMap surface value")
    p.add_argument("--roughness", metavar="V", help="OpenStreetMap smoothness value")
    p.add_argument("--width", metavar="V", help="narrow or wide")
    p.add_argument("--banked", action="store_true")
    p.add_argument("--roots", action="store_true")
    p.add_argument("--obstacles", action="store_true", help="logs, ledges, steps")
    p.add_argument("--on", metavar="DATE", help="the day the ground was like that")
    p = command("extract", "take ground words or unridden trails from an OpenStreetMap extract")
    p.add_argument("file", type=Path, metavar="FILE.osm|FILE.osm.pbf")
    p.add_argument("--words", action="store_true", help="what the map says of the ground")
    p.add_argument("--trails", action="store_true", help="ways as ground not ridden yet")
    command("check", "integrity, what no longer fits, what is untagged")


def _describe_loops(command: Callable[[str, str], argparse.ArgumentParser]) -> None:
    p = command("find", "find the best loops; --mix list prints the built-in mixes")
    p.add_argument("area", type=Path, nargs="?", metavar="AREA")
    p.add_argument("--mix", default="race simulation", metavar="NAME|FILE.json|RACE.gpx")
    p.add_argument("--length", default="3-5", metavar="KM-KM")
    p.add_argument("--minutes", metavar="MIN-MIN", help="predicted lap time, instead of --length")
    p.add_argument("--start", metavar="LAT,LON")
    p.add_argument(
        "--apart",
        type=float,
        default=0.0,
        metavar="M",
        help="keep passes in opposite directions this far apart",
    )
    p.add_argument("--count", type=int, default=5, metavar="N")
    p.add_argument("--seconds", type=float, default=10.0, metavar="S")
    p.add_argument("--unridden", action="store_true", help="allow ground not ridden yet")
    p.add_argument(
        "--plan-for",
        metavar="DATE|newest",
        help="the day whose ground (mud in March) to plan for; kept in the area",
    )
    p.add_argument("--repeats", type=int, default=0, metavar="N", help="stretches ridden twice")
    p.add_argument("--json", metavar="OUT")
    _describe_pace(command)
    p = command("card", "write the loop card")
    p.add_argument("--loop", required=True, metavar="RANK_OR_NAME")
    p.add_argument("--out", required=True, type=Path, metavar="FILE.pdf|FILE.png")
    p.add_argument("--paper", choices=("A4", "A5", "strip"), default="A4")
    p.add_argument("--label", choices=("training", "recovery"), help="what the day is")
    p.add_argument("--laps", type=int, default=1, metavar="N")
    p.add_argument("--rest", type=float, default=0.0, metavar="MINUTES", help="rest between laps")
    p.add_argument("--session", metavar="DATE", help="the season's session of that day")
    p.add_argument("--units", choices=("metric", "imperial"), default="metric")
    p = command("export", "write the network, a loop or the season")
    p.add_argument("out", type=Path, metavar="OUT")
    p.add_argument("--loop", metavar="RANK_OR_NAME")


def _describe_pace(command: Callable[[str, str], argparse.ArgumentParser]) -> None:
    p = command("rider", "say who rides, and print what the rides say of them")
    p.add_argument("--mass", type=float, metavar="KG")
    p.add_argument("--bike", type=float, metavar="KG")
    p.add_argument("--power", type=float, metavar="W", help="critical power")
    p.add_argument("--reserve", type=float, metavar="KJ", help="W', the work above critical power")
    p.add_argument(
        "--all-out", action="append", metavar="S:W", help="seconds and mean watts; give it twice"
    )
    p.add_argument("--forget-power", action="store_true", help="know no power any more")
    p.add_argument("--heart", type=float, metavar="BPM", help="most heart beats a minute")
    p.add_argument("--wheel", type=float, metavar="M", help="metres a turn of the wheel rolls")
    p.add_argument("--chainrings", metavar="TEETH", help="such as 32 or 26,36")
    p.add_argument("--sprockets", metavar="TEETH", help="such as 10,12,14,16")
    p.add_argument("--json", metavar="OUT")
    p = command("pace", "what a lap asks: times, power, gears, corner speeds")
    p.add_argument("--loop", required=True, metavar="RANK_OR_NAME")
    p.add_argument("--laps", type=int, default=1, metavar="N", help="laps in one go")
    p.add_argument("--bike-kg", type=float, default=2.0, metavar="KG", help="what if on the frame")
    p.add_argument("--wheel-kg", type=float, default=2.0, metavar="KG", help="what if at the rims")
    p.add_argument("--units", choices=("metric", "imperial"), default="metric")
    p.add_argument("--json", metavar="OUT")


def _describe_after(command: Callable[[str, str], argparse.ArgumentParser]) -> None:
    command("warm", "compile the search now, so that nobody waits for it later")
    p = command("desktop", "put Loopwright in the desktop's menu and open areas with it")
    p.add_argument("--remove", action="store_true", help="take it out again")
    p = command("laps", "find the laps of a loop in a ride, with splits")
    p.add_argument("ride", metavar="RIDE", help="a file, or a ride of the area")
    p.add_argument(
        "--loop", metavar="RANK_OR_NAME", help="otherwise the circuit the ride itself repeats"
    )
    p.add_argument("--json", metavar="OUT")
    p = command("season", "plan the weeks to race day")
    p.add_argument("--race", required=True, metavar="DATE")
    p.add_argument("--weeks", type=int, default=12, metavar="N")
    p.add_argument("--json", metavar="OUT")


ROOMS = {
    "import": "importing",
    "tag": "tagging",
    "check": "checking",
    "extract": "borrowing",
    "find": "finding",
    "rider": "riding",
    "pace": "pacing",
    "card": "carding",
    "export": "exporting",
    "laps": "lapping",
    "season": "seasoning",
    "warm": "preparing",
    "desktop": "placing",
}
WITHOUT_AREA = frozenset({"find", "warm", "desktop"})


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command, or open the window. Gives the exit code."""
    words = list(sys.argv[1:] if argv is None else argv)
    try:
        return _dispatch(words)
    except LoopwrightError as error:
        return _ended(words, error, code=2 if isinstance(error, UsageError) else 1)
    except KeyboardInterrupt:
        sys.stderr.write("stopped\n")
        return 1
    except BrokenPipeError:
        # The reader of our output went away; say nothing more to it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:  # noqa: BLE001 - the outermost wall: no traceback reaches a rider
        return _ended(words, UsageFault(error), code=1)


class UsageFault(Exception):  # noqa: N818 - words for an unforeseen error, never raised
    """One line for what should not have happened."""

    def __str__(self) -> str:
        """Say what broke and how to see more."""
        cause = self.args[0]
        return one_line(
            f"loopwright: something unforeseen went wrong ({type(cause).__name__}: {cause}); "
            "run the command again with --debug and report it; nothing saved was changed"
        )


def _ended(words: list[str], error: Exception, *, code: int) -> int:
    if "--debug" in words:
        raise error
    sys.stderr.write(f"{one_line(str(error))}\n")
    return code


def _dispatch(words: list[str]) -> int:
    if not words or (words[0] not in ROOMS and not words[0].startswith("-")):
        return _window(words)
    options = build_parser().parse_args(_joined(words))
    run: Callable[[argparse.Namespace], int] = import_module(
        f"loopwright.cli.{ROOMS[options.command]}"
    ).run
    return run(options)


def _window(words: list[str]) -> int:
    if len(words) > 1:
        message = f"loopwright: {words[0]!r} is no command; see loopwright --help"
        raise UsageError(message)
    if words and not words[0].endswith(".loopwright") and not Path(words[0]).exists():
        message = f"loopwright: {words[0]!r} is no command and no area; see loopwright --help"
        raise UsageError(message)
    from loopwright.app.main import run

    return run(Path(words[0]) if words else None)


def _joined(words: list[str]) -> list[str]:
    """Join ``--start -12.3,45`` to one word, since a leading minus looks like an option."""
    joined: list[str] = []
    for word in words:
        if joined and joined[-1] == "--start":
            joined[-1] = f"--start={word}"
        else:
            joined.append(word)
    return joined


if __name__ == "__main__":
    sys.exit(main())
