"""Whether target and limits of a stage make sense together, told so that a slip of the pen is found."""

from collections.abc import Iterator

from service.plans.band import band_around
from service.plans.bounds import COLDEST_LIMIT_C, WARMEST_LIMIT_C, WIDEST_DISTANCE_C
from service.plans.kinds import StageKind
from service.plans.members import Members
from service.plans.model import Ramp, Stage
from service.plans.moments import said_temp

_LIKELY_DISTANCE_C = 10.0


def in_celsius(fahrenheit: float) -> float:
    """The same temperature in C."""
    return (fahrenheit - 32.0) / 1.8


def check_temperature(
    members: Members, member: str, temp_c: float, coldest_c: float, warmest_c: float
) -> bool:
    """Whether a temperature is plausible; what looks like Fahrenheit is named as such."""
    if coldest_c <= temp_c <= warmest_c:
        return True
    meant_c = in_celsius(temp_c)
    if coldest_c <= meant_c <= warmest_c:
        members.refuse(
            member,
            f"{member} is {said_temp(temp_c)}; that looks like Fahrenheit: {temp_c:.4g} F is {meant_c:.1f} C",
            "give degrees Celsius",
        )
    else:
        members.refuse(
            member,
            f"{member} is {said_temp(temp_c)}",
            f"give {said_temp(coldest_c)} to {said_temp(warmest_c)} here",
        )
    return False


def check_limits(members: Members, stage: Stage) -> None:
    """Refuses limits that contradict each other, the target or the deadband."""
    if not (_relative_fits(members, stage) if stage.relative else _absolute_fits(members, stage)):
        return
    if stage.low_c is not None and stage.high_c is not None and stage.low_c >= stage.high_c:
        members.refuse(
            "low_c",
            f"low_c {said_temp(stage.low_c)} is not below high_c {said_temp(stage.high_c)}",
            "give a low_c that is lower, or leave both out",
        )
        return
    for member, target_c in _targets(stage):
        # A boil is not held against the sea's boiling point: a kitchen in the mountains boils lower.
        boiling_c = target_c if stage.kind is StageKind.BOIL else None
        band = band_around(stage, target_c) if boiling_c is None else band_around(stage, target_c, boiling_c)
        if target_c is not None and not band.holds(target_c):
            cold = band.low_c is not None and target_c < band.low_c
            _refuse_target(members, stage, member, target_c, band.low_c if cold else band.high_c, cold)
            return
        if (
            band.low_c is not None
            and band.high_c is not None
            and stage.deadband_c >= band.high_c - band.low_c
        ):
            members.refuse(
                "deadband_c",
                f"the deadband, {said_temp(stage.deadband_c)}, is as wide as the band, "
                f"{said_temp(band.low_c)} to {said_temp(band.high_c)}, so that no alarm could ever return",
                "give a smaller deadband_c or a wider band",
            )
            return


def _targets(stage: Stage) -> Iterator[tuple[str, float | None]]:
    """The targets that the limits must suit, each with its member; a ramp fits where both its ends do."""
    if isinstance(stage.target_c, Ramp):
        yield "target_c/from", stage.target_c.from_c
        yield "target_c/to", stage.target_c.to_c
    else:
        yield "target_c", stage.target_c


def _relative_fits(members: Members, stage: Stage) -> bool:
    if stage.target_c is None and stage.kind is not StageKind.BOIL:
        members.refuse(
            "band", "a relative band needs a target to lie around", "give target_c, or say band: absolute"
        )
        return False
    fits = True
    for member, distance_c, wrong in (
        ("low_c", stage.low_c, stage.low_c is not None and stage.low_c > 0),
        ("high_c", stage.high_c, stage.high_c is not None and stage.high_c < 0),
    ):
        if distance_c is not None and (wrong or abs(distance_c) > WIDEST_DISTANCE_C):
            side, sign = ("below", "-1.5") if member == "low_c" else ("above", "1.5")
            members.refuse(
                member,
                f"{member} is {said_temp(distance_c)}, but the band is relative, so this is a distance",
                f"give how far {side} the target it lies, as {sign}, or say band: absolute",
            )
            fits = False
    return fits


def _absolute_fits(members: Members, stage: Stage) -> bool:
    fits = True
    for member, limit_c in (("low_c", stage.low_c), ("high_c", stage.high_c)):
        if limit_c is not None:
            fits &= check_temperature(members, member, limit_c, COLDEST_LIMIT_C, WARMEST_LIMIT_C)
    return fits


def _refuse_target(
    members: Members, stage: Stage, member: str, target_c: float, limit_c: float | None, cold: bool
) -> None:
    limit, side = ("low_c", "below") if cold else ("high_c", "above")
    own = stage.low_c if cold else stage.high_c
    said_limit = f"its {limit}" if own is not None else f"the limit that a {stage.kind} has by itself"
    remedy = f"give a {limit} that leaves room for the target"
    if not stage.relative and _like_distances(stage):
        remedy += '; if low_c and high_c are distances from the target, say "band": "relative"'
    members.refuse(
        member,
        f"the target, {said_temp(target_c)}, is {side} {said_limit}, {said_temp(limit_c or 0.0)}",
        remedy,
    )


def _like_distances(stage: Stage) -> bool:
    """Whether limits that are read as temperatures look as if they were meant around the target."""
    given = [limit_c for limit_c in (stage.low_c, stage.high_c) if limit_c is not None]
    around = (stage.low_c or 0.0) <= 0 <= (stage.high_c or 0.0)
    return bool(given) and around and all(abs(limit_c) <= _LIKELY_DISTANCE_C for limit_c in given)
