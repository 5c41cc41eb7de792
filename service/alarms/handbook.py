"""All of the alarms as one page for people: every type, their states, and when a message leaves.

The words and numbers are those the program goes by. To write the page anew:
``python -m service.alarms.handbook > docs/alarms.md``
"""

import sys

from service.alarms.catalogue import documentation
from service.alarms.catalogue.documentation import duration
from service.alarms.departure import FLOOD_MOST, FLOOD_WINDOW_S, GATHER_S, TOGETHER_S
from service.alarms.handling import MOST_SHELVE_S
from service.alarms.lifecycle import FLAP_WITHIN_S
from service.alarms.model import Priority
from service.alarms.speaking import HOLD_OFF_S, MOST_HOLD_OFF_HIGH_S, REMINDERS_S
from service.alarms.table import table_as_markdown


def handbook() -> str:
    """The page, as Markdown."""
    return "\n".join([documentation(), _states(), _messages()])


def _states() -> str:
    return f"""# States

An alarm is in one of four states; they and their changes are those of ANSI/ISA-18.2 and IEC 62682. Each
change is kept with its cause in words and the numbers that led to it.

{table_as_markdown()}
Flags stand beside the state. A shelf lasts at most {duration(MOST_SHELVE_S)} and ends by itself. Suppression
is by design: while somebody works at a vessel and said so, for what a silent probe would raise besides, and
while a kettle comes to the temperature of a stage that has just begun. Out of service is for a kind of alarm
that makes no sense at one place. No data changes nothing: silence is an alarm of its own and clears no other.
"""


def _messages() -> str:
    reminders = "\n".join(
        f"| {priority} | {_waits(REMINDERS_S[priority])} |" for priority in reversed(Priority)
    )
    return f"""# When a message leaves

A message leaves, on each channel by itself, for one of these reasons:

- **first**: an alarm is raised that nobody has acknowledged;
- **raised in priority**: it stands, and weighs more than the last message said;
- **reminder**: it still stands and nobody has acknowledged it;
- **end of quiet hours**: it was raised during them and still stands;
- **returned**: what a message told of is over.

| priority | reminders, each after the message before it |
|---|---|
{reminders}

Acknowledging ends the reminders. Quiet hours hold back everything but what is high. Shelved alarms and those
out of service are silent; suppressed ones that stand are not.

An alarm that comes back within {duration(FLAP_WITHIN_S)} of having returned speaks again only
{_waits(HOLD_OFF_S[1:])} after its last message, by how often it has come back; a high one never waits more
than {duration(MOST_HOLD_OFF_HIGH_S)}.

What arises at one vessel within {duration(TOGETHER_S)} is one message; a high one leaves at once and takes
along what waits. No channel gets more than {FLOOD_MOST} messages in {duration(FLOOD_WINDOW_S)}: what waits
is gathered into one about every {duration(GATHER_S)}, and nothing is left out.

During an absence everything goes to the channel named for it, in three plain sentences; what is high goes to
the others too, and what still stands afterwards is told to them then. If messages do not arrive there, the
others hear everything. A link in a message shows one alarm and a button; opening it does nothing.

What could not leave is tried again with growing waits and arrives late rather than never, with its original
time; old messages are joined. When one could not leave for an hour, `channel-failing` is raised on the other
channels and on the page.
"""


def _waits(seconds: tuple[float, ...]) -> str:
    said = [duration(one) for one in seconds]
    return said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"


if __name__ == "__main__":
    sys.stdout.write(handbook())
