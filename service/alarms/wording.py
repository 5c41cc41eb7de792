"""The text of a message: vessel, what, since when, now against the band, what it means, what to do, by when.

Plain text, readable on a phone's lock screen from the title on. Every fact comes from the alarm's own
memory and its entry in the catalogue; nothing is decided here.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from service.alarms.catalogue import CATALOGUE, Words
from service.alarms.model import AlarmState, Priority
from service.alarms.speaking import Reason
from service.alarms.words import Units, clock, degrees

LinkFor = Callable[[AlarmState], str | None]
ITSELF = "gylewatch"
"""Stands where a vessel's name would, when it is about the watch itself."""

ACKNOWLEDGE_THERE = "Acknowledge on the page of the watch."
"""Where a link would stand, when none could be opened from elsewhere."""

MOST_LISTED = 40


@dataclass(frozen=True, slots=True)
class Text:
    """One message: a line, and the whole of it."""

    title: str
    body: str


_MARKS = {
    Reason.REMINDER: "reminder",
    Reason.RAISED_IN_PRIORITY: "more urgent now",
    Reason.RETURNED: "over",
    Reason.END_OF_QUIET_HOURS: "since the quiet hours",
}
_OPENINGS = {
    Reason.REMINDER: "Nobody has acknowledged this yet.",
    Reason.RAISED_IN_PRIORITY: "This has become more urgent.",
    Reason.END_OF_QUIET_HOURS: "This came up during the quiet hours and still stands.",
}


def compose(
    reason: Reason,
    vessel_name: str,
    states: Sequence[AlarmState],
    tz: ZoneInfo,
    link_base: str | None,
    units: Units = Units.CELSIUS,
    *,
    now: datetime | None = None,
    link_for: LinkFor | None = None,
) -> Text:
    """One readable text about one or several alarms of one vessel, the most urgent first.

    vessel_name: empty when it is about the watch itself. link_base: where the pages are served, for
    links to each alarm, None when no link is of use; link_for gives a link of its own (a signed one) and
    goes before it. now: decides how much of a date is written; without it, the latest time of the alarms.
    """
    ordered = _urgent_first(states)
    moment = now or _latest(ordered)
    link = link_for or _links(link_base)
    paragraphs = [_paragraph(reason, state, tz, units, moment, link(state)) for state in ordered]
    opening = [_OPENINGS[reason]] if reason in _OPENINGS else []
    body = "\n\n".join(opening + paragraphs)
    if any(state.standing for state in ordered) and not any(link(state) for state in ordered):
        body += f"\n{ACKNOWLEDGE_THERE}"
    return Text(_title(reason, vessel_name or ITSELF, ordered), body)


def compose_for_helper(
    vessel_name: str,
    states: Sequence[AlarmState],
    tz: ZoneInfo,
    link: str | None,
    *,
    now: datetime | None = None,
) -> Text:
    """Three plain sentences for somebody who looks after the beer meanwhile: the most urgent alarm only."""
    state = _urgent_first(states)[0]
    entry = CATALOGUE[state.subject.key]
    name = vessel_name or ITSELF
    what = f"{name}: {entry.title}, {_of_then(state, tz, now or _latest(states))}."
    until = (
        "soon" if state.respond_by is None else f"by {clock(state.respond_by, tz, now or _latest(states))}"
    )
    where = f", and open {link} when you have" if link else ""
    safety = f"Please do it {until} only if you can do so safely{where}."
    return Text(f"{name}: {entry.title}", f"{what}\n{_words(state).helper}\n{safety}")


def compose_together(
    groups: Sequence[tuple[Reason, str, Sequence[AlarmState]]],
    tz: ZoneInfo,
    link_base: str | None,
    *,
    now: datetime | None = None,
) -> Text:
    """One text for many vessels at once, a line for each alarm; past the first 40, only what and where.

    groups: reason, vessel's name and its alarms, as for `compose`.
    """
    every = [state for _, _, states in groups for state in states]
    moment = now or _latest(every)
    lines = [
        (
            state.priority.rank,
            f"{name or ITSELF}: {_short(reason, state)}",
            _headline(reason, state, tz, moment),
        )
        for reason, name, states in groups
        for state in _urgent_first(states)
    ]
    lines.sort(key=lambda line: -line[0])
    shown = [f"{what}{more}" for _, what, more in lines[:MOST_LISTED]]
    if len(lines) > MOST_LISTED:
        shown.append(
            f"And {len(lines) - MOST_LISTED} more: {', '.join(line[1] for line in lines[MOST_LISTED:])}."
        )
    where = f"{link_base.rstrip('/')}/alarms" if link_base else "on the page of the watch."
    shown.append(f"See and acknowledge: {where}")
    names = {name for _, name, _ in groups}
    where = f"{len(names)} vessels" if len(names) > 1 else next(iter(names), "") or ITSELF
    return Text(f"{where}: {len(lines)} alarms", "\n".join(shown))


def _short(reason: Reason, state: AlarmState) -> str:
    return CATALOGUE[state.subject.key].title + (" (over)" if reason is Reason.RETURNED else "")


def _headline(reason: Reason, state: AlarmState, tz: ZoneInfo, now: datetime) -> str:
    if reason is Reason.RETURNED:
        return f": {_sentence(state.returned_because or '')}" if state.returned_because else ""
    by = "" if state.respond_by is None else f" Answer by {clock(state.respond_by, tz, now)}."
    return f": {_of_then(state, tz, now)}.{by}"


def _of_then(state: AlarmState, tz: ZoneInfo, now: datetime) -> str:
    """The reason; of what nobody can see any more it says since when."""
    if state.unknown_since is None or not state.cause_stands:
        return state.reason
    return f"{state.reason}; nothing is known of it since {clock(state.unknown_since, tz, now)}"


def _title(reason: Reason, name: str, states: Sequence[AlarmState]) -> str:
    titles = list(dict.fromkeys(CATALOGUE[state.subject.key].title for state in states))
    marks = [_MARKS[reason]] if reason in _MARKS else []
    if reason is not Reason.RETURNED and any(state.priority is Priority.HIGH for state in states):
        marks.insert(0, "urgent")
    return f"{name}: {', '.join(titles)}" + (f" ({', '.join(marks)})" if marks else "")


def _paragraph(
    reason: Reason, state: AlarmState, tz: ZoneInfo, units: Units, now: datetime, link: str | None
) -> str:
    entry = CATALOGUE[state.subject.key]
    if reason is Reason.RETURNED:
        lines = _returned(state, tz, now)
    else:
        band = _band(state, units)
        lines = [
            f"{_sentence(entry.title)[:-1]}: {_of_then(state, tz, now)}." + (f" {band}" if band else ""),
            f"What it means: {state.consequence or entry.consequence}",
            f"What to do: {state.advice or entry.advice}",
            *(f"Caution: {caution}" for caution in _words(state).cautions),
        ]
        if state.respond_by is not None:
            lines.append(f"Answer by {clock(state.respond_by, tz, now)}.")
    if link is not None and state.standing:
        lines.append(f"Acknowledge: {link}")
    return "\n".join(lines)


def _words(state: AlarmState) -> Words:
    return CATALOGUE[state.subject.key].words_in(state.names.get("stage_kind"))


def _returned(state: AlarmState, tz: ZoneInfo, now: datetime) -> list[str]:
    entry = CATALOGUE[state.subject.key]
    since = "" if state.returned_at is None else f" since {clock(state.returned_at, tz, now)}"
    lines = [
        f"{_sentence(entry.title)[:-1]}: over{since}. {_sentence(state.returned_because or '')}".rstrip()
    ]
    lines.append(f"It was: {state.reason}.")
    return lines


def _band(state: AlarmState, units: Units) -> str:
    low, high = state.numbers.get("low_c"), state.numbers.get("high_c")
    if isinstance(low, float | int) and isinstance(high, float | int):
        return f"The band is {degrees(low, units)} to {degrees(high, units)}."
    if isinstance(high, float | int):
        return f"The band ends at {degrees(high, units)}."
    if isinstance(low, float | int):
        return f"The band begins at {degrees(low, units)}."
    return ""


def _urgent_first(states: Sequence[AlarmState]) -> list[AlarmState]:
    return sorted(states, key=lambda s: (-s.priority.rank, s.raised_at or datetime.max.replace(tzinfo=UTC)))


def _latest(states: Sequence[AlarmState]) -> datetime:
    times = [t for s in states for t in (s.raised_at, s.episode_at, s.returned_at) if t is not None]
    return max(times, default=datetime.fromtimestamp(0, UTC))


def _links(link_base: str | None) -> LinkFor:
    def link(state: AlarmState) -> str | None:
        if link_base is None or state.alarm_id is None:
            return None
        return f"{link_base.rstrip('/')}/alarms/a-{state.alarm_id}"

    return link


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:].rstrip('.')}." if words else ""
