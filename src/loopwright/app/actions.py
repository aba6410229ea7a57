"""Every action of the window in one table.

Gets nothing, gives for each action an id, its words, menu, shortcut and when it can be used.
Promises: menus, tool bar, command search and the sheet of shortcuts are all made from this table,
and no two actions share a shortcut (checked in the tests).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from loopwright.app.desk import Desk

MENUS = ("Area", "Edit", "Place", "Map", "Ground", "Loop", "Laps", "Season", "Help")


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One action. ``when`` names a condition of ``CONDITIONS``; ``rule`` draws a line above."""

    id: str
    words: str
    menu: str
    keys: str = ""
    when: str = "always"
    icon: str = ""
    rule: bool = False
    check: bool = False
    hint: str = ""


def _has_rides(desk: Desk) -> bool:
    return bool(desk.document.rides)


CONDITIONS: Mapping[str, Callable[[Desk], bool]] = MappingProxyType(
    {
        "always": lambda _desk: True,
        "rides": _has_rides,
        "ground": lambda desk: desk.terrain is not None,
        "loop": lambda desk: desk.course is not None,
        "found": lambda desk: bool(desk.candidates),
        "loop not kept": lambda desk: desk.shown is not None and not desk.is_kept(desk.shown),
        "kept loop": lambda desk: desk.is_kept(desk.shown),
        "chosen": lambda desk: bool(desk.selection),
        "loop and chosen": lambda desk: desk.course is not None and bool(desk.selection),
        "two chosen": lambda desk: len(desk.selection) == 2,
        "undo": lambda desk: desk.workspace.undo_label is not None,
        "redo": lambda desk: desk.workspace.redo_label is not None,
        "busy": lambda desk: desk.jobs.busy(),
        "wishes": lambda desk: bool(
            desk.wishes.must or desk.wishes.avoid or desk.wishes.start is not None
        ),
        "borrowed": lambda desk: (
            any(tag.source for tag in desk.document.tags)
            or any(one.source for one in desk.document.corrections)
        ),
        "private": lambda desk: desk.document.settings.private is not None,
        "season": lambda desk: desk.document.season is not None,
    }
)


def _c(id: str, words: str, menu: str, keys: str = "", **more: Any) -> Command:  # noqa: A002 - the field's name
    return Command(id=id, words=words, menu=menu, keys=keys, **more)


COMMANDS: tuple[Command, ...] = (
    _c("new", "New area", "Area", "Ctrl+N"),
    _c("open", "Open an area…", "Area", "Ctrl+O", icon="open"),
    _c("sample", "Open the invented sample area", "Area", "Ctrl+Shift+N"),
    _c("save", "Save", "Area", "Ctrl+S", icon="save"),
    _c("save_as", "Save under another name…", "Area", "Ctrl+Shift+S"),
    _c("name_area", "Name the area…", "Area", "Shift+F2"),
    _c("import", "Import rides…", "Area", "Ctrl+I", icon="import", rule=True,
       hint="Recorded rides, GPX or FIT, one or many"),
    _c("import_folder", "Import a folder of rides…", "Area", "Ctrl+Shift+I"),
    _c("card", "Loop card…", "Area", "Ctrl+P", when="loop", icon="card", rule=True,
       hint="One page to print: map, profile, targets"),
    _c("export_loop", "Export the loop (GPX or GeoJSON)…", "Area", "Ctrl+E", when="loop"),
    _c("export_network", "Export the trail network (GeoJSON)…", "Area", "F8", when="ground"),
    _c("export_season", "Export the season (calendar or table)…", "Area", "Shift+F8",
       when="season"),
    _c("quit", "Quit", "Area", "Ctrl+Q", rule=True),
    _c("undo", "Undo", "Edit", "Ctrl+Z", when="undo", icon="undo"),
    _c("redo", "Redo", "Edit", "Ctrl+Shift+Z", when="redo", icon="redo"),
    _c("choose_all", "Choose every stretch", "Edit", "Ctrl+A", when="ground", rule=True),
    _c("choose_none", "Choose nothing", "Edit", "Escape", when="chosen"),
    _c("rider", "Rider and bike…", "Edit", "Ctrl+R", rule=True),
    _c("preferences", "Preferences…", "Edit", "Ctrl+,"),
    _c("stop", "Stop what is running", "Edit", "Ctrl+.", when="busy"),
    _c("ground", "Ground", "Place", "Ctrl+1", check=True),
    _c("loops", "Loops", "Place", "Ctrl+2", check=True),
    _c("laps", "Laps", "Place", "Ctrl+3", check=True),
    _c("season", "Season", "Place", "Ctrl+4", check=True),
    _c("fold", "Show the left column", "Place", "Ctrl+B", check=True, rule=True),
    _c("find_command", "Find a command…", "Place", "Ctrl+K"),
    _c("fit", "Show everything", "Map", "Ctrl+0", when="ground", icon="fit"),
    _c("fit_loop", "Show the loop", "Map", "Ctrl+9", when="loop"),
    _c("closer", "Closer", "Map", "Ctrl++"),
    _c("further", "Further away", "Map", "Ctrl+-"),
    _c("next_stretch", "Next stretch", "Map", "Ctrl+Right", when="ground", rule=True),
    _c("previous_stretch", "Previous stretch", "Map", "Ctrl+Left", when="ground"),
    _c("show_rides", "Show the recorded rides", "Map", "Ctrl+Shift+R", check=True, rule=True),
    _c("background", "Map background…", "Map", "Ctrl+Shift+E",
       hint="A GeoTIFF or MBTiles file of your own, or tiles from an address you type"),
    _c("height_file", "Hill shading from a height file…", "Map", "Ctrl+Shift+A"),
    _c("show_features", "Show features on the map", "Map", "Ctrl+Shift+F", check=True),
    _c("show_key", "Show what the signs mean", "Map", "Ctrl+Shift+L", check=True),
    _c("tag_ride", "Tag after a ride…", "Ground", "Ctrl+T", when="ground",
       hint="Go through a ride stretch by stretch, one key each"),
    _c("next_untagged", "Choose what to tag next", "Ground", "Ctrl+U", when="ground"),
    _c("one_way", "One-way, as the arrow shows", "Ground", "Ctrl+Shift+O", when="chosen",
       rule=True),
    _c("one_way_back", "One-way, against the arrow", "Ground", "Ctrl+Shift+B", when="chosen"),
    _c("closed", "Closed to us", "Ground", "Ctrl+Shift+X", when="chosen"),
    _c("hide", "Leave off the map", "Ground", "Ctrl+Shift+H", when="chosen"),
    _c("rename", "Name this stretch…", "Ground", "F2", when="chosen"),
    _c("join", "Join two stretches", "Ground", "Ctrl+Shift+J", when="two chosen"),
    _c("extract", "Read a map extract…", "Ground", "Ctrl+Shift+V", when="ground", rule=True,
       hint="Ground words and trails not ridden yet, from an OpenStreetMap file"),
    _c("give_back", "Give back what the map said", "Ground", "Ctrl+Alt+G", when="borrowed"),
    _c("draw", "Draw a connector not ridden yet", "Ground", "Ctrl+Shift+W", when="ground"),
    _c("draw_named", "Draw the connector that opens most trail", "Ground", "Ctrl+Alt+Shift+W",
       when="ground"),
    _c("cut", "Cut the trail along a line", "Ground", "Ctrl+Shift+C", when="ground"),
    _c("private", "Keep this place private…", "Ground", "F7", when="chosen", rule=True),
    _c("not_private", "Nothing private", "Ground", "Shift+F7", when="private"),
    _c("search", "Search again", "Loop", "F5", when="ground"),
    _c("next_loop", "Next loop", "Loop", "Ctrl+Down", when="found"),
    _c("previous_loop", "Previous loop", "Loop", "Ctrl+Up", when="found"),
    _c("copy_race", "Copy what a race lap asks…", "Loop", "Ctrl+Shift+P"),
    _c("targets", "Targets of the lap", "Loop", "Ctrl+Alt+T", when="loop",
       hint="Time, power, gear and speed, section by section"),
    _c("why", "Why this loop", "Loop", "Ctrl+W", when="loop"),
    _c("why_not", "Why this stretch, or why not", "Loop", "Ctrl+Alt+W", when="loop and chosen",
       hint="The best loop without it, or with it, and what that loses"),
    _c("trade_off", "Length against match…", "Loop", "Ctrl+Alt+J", when="found",
       hint="What a longer lap or riding a stretch twice would buy"),
    _c("compare", "Loops side by side", "Loop", "Ctrl+J", when="found"),
    _c("keep", "Keep this loop…", "Loop", "Ctrl+D", when="loop not kept"),
    _c("forget", "Forget this loop", "Loop", "Ctrl+Shift+D", when="kept loop"),
    _c("must", "Must be ridden", "Loop", "Ctrl+M", when="chosen", rule=True),
    _c("avoid", "Keep away from it", "Loop", "Ctrl+Shift+M", when="chosen"),
    _c("lead_through", "Lead the loop through it", "Loop", "Ctrl+H", when="loop and chosen"),
    _c("lead_around", "Lead the loop around it", "Loop", "Ctrl+Shift+U", when="loop and chosen"),
    _c("finish", "Hold on to it, find the rest", "Loop", "Ctrl+Alt+H", when="loop and chosen",
       hint="Locks the chosen stretches as they are ridden now and searches the rest"),
    _c("start_here", "Start here", "Loop", "Ctrl+G", when="chosen"),
    _c("free_wishes", "Free start, musts and avoids", "Loop", "Ctrl+Shift+G", when="wishes"),
    _c("read_laps", "Read the laps of a recording…", "Laps", "Ctrl+L", when="loop"),
    _c("keep_circuit", "Keep the circuit this ride repeats", "Laps", "Ctrl+Shift+K", when="rides"),
    _c("tag_this_ride", "Tag after the ride in view…", "Laps", "Ctrl+Shift+T", when="rides",
       hint="Go through this ride stretch by stretch, one key each"),
    _c("plan_season", "Plan the season", "Season", "Ctrl+Y"),
    _c("session_loop", "Find a loop for the session", "Season", "Ctrl+Shift+Y", when="season"),
    _c("session_card", "Loop card of the session…", "Season", "Ctrl+Alt+P", when="season"),
    _c("race_ground", "Measure the ground of race day…", "Season", "F4", when="season", rule=True,
       hint="Metres of each ground, from the recording of a race lap"),
    _c("every_surface", "Find a loop over every surface", "Season", "F6", when="ground"),
    _c("print_season", "Print the season…", "Season", "F9", when="season", rule=True),
    _c("season_pages", "Save the season to print (PDF)…", "Season", "Shift+F9", when="season"),
    _c("shortcuts", "Sheet of shortcuts", "Help", "F1"),
    _c("cautions", "Before you ride", "Help", "Shift+F1"),
    _c("about", "About Loopwright", "Help", "Ctrl+F1"),
)  # fmt: skip

BY_ID: Mapping[str, Command] = MappingProxyType({c.id: c for c in COMMANDS})
TOOL_BAR = ("import", "save", "undo", "redo", "card")


def usable(command: Command, desk: Desk) -> bool:
    """Tell whether the action can be used now."""
    return CONDITIONS[command.when](desk)


def holding(desk: Desk) -> frozenset[str]:
    """Name the conditions that hold now, each asked once."""
    return frozenset(name for name, holds in CONDITIONS.items() if holds(desk))
