"""Least squares of Newton's law toward one fixed bath temperature, in plain arithmetic."""

import math
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Fit:
    """T(t) = bath_c + amplitude_c exp(-rate_per_s t), t in seconds since the first sample.

    square_sum: sum of squared residuals, C2. The variances are those of ln amplitude and of the rate
    for the noise the fit was scaled to.
    """

    bath_c: float
    amplitude_c: float
    rate_per_s: float
    square_sum: float
    var_log_amplitude: float
    var_rate: float
    covariance: float
    weight: float

    @property
    def tau_s(self) -> float:
        return 1 / self.rate_per_s

    @property
    def tau_sd_s(self) -> float:
        return math.sqrt(self.var_rate) / self.rate_per_s**2

    def scaled(self, noise_c: float, likelihood: float) -> "Fit":
        """The same curve with its variances for this noise, C, and its weight times the likelihood."""
        variance = 4 * noise_c**2
        return replace(
            self,
            var_log_amplitude=self.var_log_amplitude * variance,
            var_rate=self.var_rate * variance,
            covariance=self.covariance * variance,
            weight=self.weight * likelihood,
        )

    def with_weight(self, weight: float) -> "Fit":
        return replace(self, weight=weight)

    def time_to(self, target_c: float, margin_c: float) -> tuple[float, float] | None:
        """Seconds from the first sample to target_c and their standard deviation; None: never."""
        away_c = (target_c - self.bath_c) * math.copysign(1.0, self.amplitude_c)
        if away_c < margin_c:
            return None
        seconds = math.log(abs(self.amplitude_c) / away_c) / self.rate_per_s
        variance = self.var_log_amplitude - 2 * seconds * self.covariance + seconds**2 * self.var_rate
        return seconds, math.sqrt(max(0.0, variance)) / self.rate_per_s


def fit_toward(times_s: list[float], temps_c: list[float], bath_c: float, prior: float) -> Fit:
    """Fits amplitude and rate for a bath at bath_c; every sample lies on one side of it.

    Starts from the straight line through the logarithms, then Gauss-Newton with constant noise.
    """
    sign = 1.0 if temps_c[0] > bath_c else -1.0
    over_c = [max(1e-3, sign * (temp_c - bath_c)) for temp_c in temps_c]
    log_amplitude, rate = _line_through_logs(times_s, over_c)
    span_s = times_s[-1]
    for _ in range(12):
        step_log, step_rate, _, _ = _gauss_newton(times_s, over_c, log_amplitude, rate)
        log_amplitude += max(-0.5, min(0.5, step_log))
        rate = max(1e-3 / span_s, rate + max(-0.5 * rate, min(0.5 * rate, step_rate)))
        if abs(step_log) < 1e-9 and abs(step_rate) < 1e-9 * rate:
            break
    _, _, inverse, square_sum = _gauss_newton(times_s, over_c, log_amplitude, rate)
    return Fit(
        bath_c, sign * math.exp(log_amplitude), rate, square_sum, inverse[0], inverse[2], inverse[1], prior
    )


def mixture_quantile(parts: list[tuple[float, float, float]], share: float) -> float | None:
    """Quantile of a mixture of normals (weight, mean, sd); weights may sum to less than 1.

    The missing weight lies at infinity: None when the quantile does.
    """
    if share >= sum(weight for weight, _, _ in parts):
        return None
    low = min(mean - 8 * sd for _, mean, sd in parts)
    high = max(mean + 8 * sd for _, mean, sd in parts)
    for _ in range(70):
        middle = (low + high) / 2
        below = sum(weight * _normal_below((middle - mean), sd) for weight, mean, sd in parts)
        if below < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _normal_below(distance: float, sd: float) -> float:
    if sd <= 0:
        return 1.0 if distance >= 0 else 0.0
    return 0.5 * (1 + math.erf(distance / sd / math.sqrt(2)))


def _line_through_logs(times_s: list[float], over_c: list[float]) -> tuple[float, float]:
    weights = [y * y for y in over_c]
    total = sum(weights)
    mean_t = sum(w * t for w, t in zip(weights, times_s, strict=True)) / total
    mean_log = sum(w * math.log(y) for w, y in zip(weights, over_c, strict=True)) / total
    spread = sum(w * (t - mean_t) ** 2 for w, t in zip(weights, times_s, strict=True))
    slope = (
        sum(
            w * (t - mean_t) * (math.log(y) - mean_log)
            for w, t, y in zip(weights, times_s, over_c, strict=True)
        )
        / spread
    )
    rate = max(1e-3 / times_s[-1], -slope)
    return mean_log + rate * mean_t, rate


def _gauss_newton(
    times_s: list[float], over_c: list[float], log_amplitude: float, rate: float
) -> tuple[float, float, tuple[float, float, float], float]:
    """One step, the inverse normal matrix (var ln A, covariance, var rate) and the squared residuals."""
    aa = ab = bb = ga = gb = square_sum = 0.0
    for t, y in zip(times_s, over_c, strict=True):
        model = math.exp(max(-50.0, log_amplitude - rate * t))
        residual = y - model
        by_rate = -t * model
        aa += model * model
        ab += model * by_rate
        bb += by_rate * by_rate
        ga += model * residual
        gb += by_rate * residual
        square_sum += residual * residual
    determinant = aa * bb - ab * ab
    if determinant <= 1e-12 * aa * bb:
        return 0.0, 0.0, (1 / max(aa, 1e-12), 0.0, 1 / max(bb, 1e-12)), square_sum
    inverse = (bb / determinant, -ab / determinant, aa / determinant)
    return inverse[0] * ga + inverse[1] * gb, inverse[1] * ga + inverse[2] * gb, inverse, square_sum
