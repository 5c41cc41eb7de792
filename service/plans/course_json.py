"""A course as JSON and back, exactly: how it is kept, and how earlier courses are kept for undoing."""

from collections.abc import Mapping
from datetime import UTC, datetime

from service.errors import InvalidInputError, Problem
from service.plans.moments import moment
from service.plans.step import Course, CourseState, How, Step


def course_to_json(course: Course) -> dict[str, object]:
    """The course as JSON values; times are RFC 3339 in UTC, to the microsecond."""
    return {
        "steps": [
            {
                "n": step.n,
                "stage": step.stage_key,
                "entered_at": _said(step.entered_at),
                "left_at": _said(step.left_at),
                "lasts_s": step.lasts_s,
                "how": step.how.value,
            }
            for step in course.steps
        ],
        "state": course.state.value,
        "pitched_at": _said(course.pitched_at),
        "ended_at": _said(course.ended_at),
    }


def course_from_json(body: object) -> Course:
    """The course that `course_to_json` wrote. InvalidInputError: it is not one."""
    course = _members(body, "", {"steps", "state", "pitched_at", "ended_at"})
    steps = course["steps"]
    if not isinstance(steps, list) or not steps:
        raise _wrong("/steps", "there are no steps")
    return Course(
        steps=tuple(_step(step, f"/steps/{i}") for i, step in enumerate(steps)),
        state=CourseState(_one_of(course["state"], "/state", [state.value for state in CourseState])),
        pitched_at=_time_or_none(course["pitched_at"], "/pitched_at"),
        ended_at=_time_or_none(course["ended_at"], "/ended_at"),
    )


def _step(body: object, field: str) -> Step:
    step = _members(body, field, {"n", "stage", "entered_at", "left_at", "lasts_s", "how"})
    n, key, lasts_s = step["n"], step["stage"], step["lasts_s"]
    entered_at = _time_or_none(step["entered_at"], f"{field}/entered_at")
    if not isinstance(n, int) or not isinstance(key, str) or entered_at is None:
        raise _wrong(field, "n, stage or entered_at is missing or of the wrong type")
    if lasts_s is not None and not isinstance(lasts_s, int | float):
        raise _wrong(f"{field}/lasts_s", "this is no number")
    how = How(_one_of(step["how"], f"{field}/how", [how.value for how in How]))
    left_at = _time_or_none(step["left_at"], f"{field}/left_at")
    return Step(n, key, entered_at, left_at, None if lasts_s is None else float(lasts_s), how)


def _said(at: datetime | None) -> str | None:
    return None if at is None else at.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _time_or_none(value: object, field: str) -> datetime | None:
    if value is None:
        return None
    try:
        return moment(datetime.fromisoformat(str(value)), field)
    except ValueError as error:
        raise _wrong(field, f"{value!r} is no time") from error


def _one_of(value: object, field: str, allowed: list[str]) -> str:
    if not isinstance(value, str) or value not in allowed:
        raise _wrong(field, f"{value!r} is none of {', '.join(allowed)}")
    return value


def _members(body: object, field: str, names: set[str]) -> Mapping[str, object]:
    if not isinstance(body, Mapping) or set(body) != names:
        raise _wrong(field, f"this is no object with exactly the members {', '.join(sorted(names))}")
    return body


def _wrong(field: str, problem: str) -> InvalidInputError:
    return InvalidInputError(Problem(field, problem, "take it from a record that gylewatch wrote"))
