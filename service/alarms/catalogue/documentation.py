"""The catalogue as a page for people. What it says is what the entries say."""

from collections.abc import Iterable

from service.alarms.catalogue.entry import AlarmType, Words


def document(entries: Iterable[AlarmType]) -> str:
    """Markdown: one section for each alarm type, in the order given."""
    return "# Alarms\n\n" + "\n".join(_section(entry) for entry in entries)


def _section(entry: AlarmType) -> str:
    lines = [
        f"## `{entry.key}`: {entry.title}",
        "",
        f"- **Raised when**: {entry.cause}",
        f"- **What it means**: {entry.consequence}",
        f"- **What to do**: {entry.advice}",
        f"- **What a helper can do**: {entry.helper}",
        f"- **Answer within**: {duration(entry.respond_within_s)}",
        f"- **Priority**: {entry.priority_rule or entry.priority.value.capitalize() + '.'}",
        f"- **Delay**: {_delay(entry)}",
    ]
    if entry.deadband_c is not None:
        lines.append(f"- **Deadband**: {entry.deadband_c:g} C")
    lines += [f"- **Caution**: {caution}" for caution in entry.cautions]
    for words in dict.fromkeys(entry.in_stages.values()):
        kinds = [kind for kind, said in entry.in_stages.items() if said is words]
        lines += ["", *_in_stages(kinds, words)]
    return "\n".join(lines) + "\n"


def _in_stages(kinds: list[str], words: Words) -> list[str]:
    named = " or ".join(f"`{kind}`" for kind in kinds)
    return [
        f"In a stage of kind {named}:",
        "",
        f"- **What it means**: {words.consequence}",
        f"- **What to do**: {words.advice}",
        f"- **What a helper can do**: {words.helper}",
        f"- **Answer within**: {duration(words.respond_within_s)}",
        *(f"- **Caution**: {caution}" for caution in words.cautions),
    ]


def _delay(entry: AlarmType) -> str:
    before = duration(entry.after_s) if entry.after_s else "at once"
    after = duration(entry.clear_after_s) if entry.clear_after_s else "at once"
    return f"raised after {before}, returned after {after}".replace("after at once", "at once")


def duration(seconds: float) -> str:
    """A length of time as people say it: "90 seconds", "10 minutes", "2 hours", "3 days"."""
    for size, word in ((86400, "day"), (3600, "hour"), (60, "minute")):
        if seconds >= size and seconds % size == 0:
            count = int(seconds // size)
            return f"{count} {word}{'' if count == 1 else 's'}"
    return f"{seconds:g} second{'' if seconds == 1 else 's'}"
