"""Bodies that hold heat and pass it on, moved ahead in exact steps.

Between bodies and given temperatures heat flows in proportion to the difference, so a step has a closed
form: with the flows gathered in a matrix A and all that comes from outside in a vector f (K/s) that changes
evenly from f0 to f1 within the step h,
`x(h) = e^(Ah) x + h phi1(Ah) f0 + h phi2(Ah) (f1 - f0)`.
Thin walls are no trouble then, however long the step.
"""

from collections.abc import Mapping, Sequence

Matrix = list[list[float]]


class Stepper:
    """One network of bodies at one step length.

    capacities: J/K of each body. links: W/K between pairs of bodies. outlets: W/K from a body to
    temperatures that are given from outside, all of them together.
    """

    def __init__(
        self,
        capacities: Sequence[float],
        links: Mapping[tuple[int, int], float],
        outlets: Sequence[float],
        step_s: float,
    ) -> None:
        size = len(capacities)
        flows: Matrix = [[0.0] * size for _ in range(size)]
        for body, outlet in enumerate(outlets):
            flows[body][body] -= outlet / capacities[body]
        for (one, other), conductance in links.items():
            for here, there in ((one, other), (other, one)):
                flows[here][here] -= conductance / capacities[here]
                flows[here][there] += conductance / capacities[here]
        rows = _with_integrals(flows, step_s)
        self._rows = [
            (
                tuple(row[:size]),
                tuple(first - second for first, second in zip(row[size:], row[2 * size :], strict=False)),
                tuple(row[2 * size :]),
            )
            for row in rows
        ]

    def ahead(
        self, temps: Sequence[float], inflow: Sequence[float], inflow_after: Sequence[float]
    ) -> tuple[float, ...]:
        """Temperatures one step later. inflow: K/s into each body from outside, now and at the end."""
        return tuple(
            sum(map(float.__mul__, carried, temps))
            + sum(map(float.__mul__, early, inflow))
            + sum(map(float.__mul__, late, inflow_after))
            for carried, early, late in self._rows
        )


def _with_integrals(flows: Matrix, step_s: float) -> Matrix:
    """The rows [e^(Ah), h phi1(Ah), h phi2(Ah)], out of one exponential of a larger matrix.

    See Van Loan, IEEE Trans. Autom. Control 23:395 (1978).
    """
    size = len(flows)
    large: Matrix = [[0.0] * (3 * size) for _ in range(3 * size)]
    for row in range(size):
        for column in range(size):
            large[row][column] = flows[row][column] * step_s
        large[row][size + row] = step_s
        large[size + row][2 * size + row] = 1.0
    return _exponential(large)[:size]


def _exponential(matrix: Matrix) -> Matrix:
    """e^M by a Taylor series of M/2^k, squared k times."""
    norm = max(sum(abs(value) for value in row) for row in matrix)
    halvings = 0
    while norm > 0.25:
        norm /= 2.0
        halvings += 1
    small = [[value / 2.0**halvings for value in row] for row in matrix]
    size = len(small)
    total: Matrix = [[float(row == column) for column in range(size)] for row in range(size)]
    term = total
    for order in range(1, 13):
        term = [[value / order for value in row] for row in _product(term, small)]
        total = [
            [a + b for a, b in zip(left, right, strict=True)] for left, right in zip(total, term, strict=True)
        ]
    for _ in range(halvings):
        total = _product(total, total)
    return total


def _product(left: Matrix, right: Matrix) -> Matrix:
    columns = list(zip(*right, strict=True))
    return [[sum(map(float.__mul__, row, column)) for column in columns] for row in left]
