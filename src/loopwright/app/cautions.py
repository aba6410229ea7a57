"""What everybody is told before riding.

Gets nothing, gives sentences. Promises: the same words on first start and in
the help.
"""

from __future__ import annotations

from loopwright.app.words import say


def cautions() -> tuple[str, ...]:
    """Give the cautions, one sentence each."""
    return (
        say("Check that the trail is open and legal for bikes, today and in this direction."),
        say("Walk the loop before you ride it fast."),
        say("Ride within your ability and wear protective gear."),
        say("No fast laps on shared trails when others are about; yield."),
        say("Tell someone where you ride and when you will be back."),
        say("Times, speeds and loads are estimates, not promises."),
        say(
            "Local rules, land managers and qualified coaches or doctors decide, not this program."
        ),
    )


def cautions_html() -> str:
    """Give the cautions as a list to show."""
    items = "".join(f"<li>{words}</li>" for words in cautions())
    return f"<p><b>{say('Riding can hurt. Before you ride:')}</b></p><ul>{items}</ul>"
