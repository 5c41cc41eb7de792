"""Which hours mattered: the temperature the beer worked at, and the warmth its bottles have lived through."""

from collections.abc import Sequence

from service.thermal.beer import usual_pace


def worked_at_c(temps_c: Sequence[float | None], progress: Sequence[float]) -> float | None:
    """Mean temperature weighted by how much fermented at it; both hourly from pitching, None if none did."""
    weighed = total = 0.0
    for k in range(1, min(len(temps_c), len(progress))):
        step, temp = progress[k] - progress[k - 1], temps_c[k]
        if temp is not None and step > 0:
            weighed += step * temp
            total += step
    return weighed / total if total > 1e-6 else None


def warm_days(temps_c: Sequence[float | None], step_h: float = 1.0) -> float:
    """Days at 20 C that do as much for bottles as the hours they have lived through; gaps count nothing."""
    return sum(usual_pace(t) for t in temps_c if t is not None) * step_h / 24
