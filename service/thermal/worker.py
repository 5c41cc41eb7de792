"""One job in, one answer out: `python -m service.thermal.worker` reads JSON on stdin, writes JSON and ends.

Job: `{"kind": "estimate", "input": {...}}` as in `jobs`, or `{"kind": "estimates", "inputs": [...]}` for
several moments at once. Answer: `{"ok": true, "answer": {...}}`, `{"ok": true, "answers": [...]}`, or
`{"ok": false, "errors": [{"field", "problem", "remedy"}]}` with exit code 2. numpy lives and dies here.
"""

import json
import os
import sys
from typing import Any, TextIO

from service.errors import InvalidInputError
from service.thermal.jobs import estimate_input, to_json

ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


def answer_to(job: dict[str, Any]) -> dict[str, Any]:
    """The answer of one job."""
    # numpy reads the number of its threads when it is loaded: small matrices are faster with one.
    for name in ONE_THREAD:
        os.environ.setdefault(name, "1")
    from service.thermal.estimate import estimate

    kind = job.get("kind")
    if kind == "estimate":
        return {"ok": True, "answer": to_json(estimate(estimate_input(job.get("input") or {})))}
    if kind == "estimates":
        inputs = [estimate_input(one) for one in job.get("inputs") or ()]
        return {"ok": True, "answers": [to_json(estimate(one)) for one in inputs]}
    return {
        "ok": False,
        "errors": [{"field": "/kind", "problem": "is not known", "remedy": "Give estimate."}],
    }


def main(source: TextIO, target: TextIO) -> int:
    """Read one job, write one answer. Returns the exit code."""
    try:
        job = json.load(source)
    except ValueError:
        json.dump({"ok": False, "errors": [{"field": "", "problem": "is no JSON", "remedy": ""}]}, target)
        return 2
    try:
        answer = answer_to(job)
    except InvalidInputError as wrong:
        problems = [{"field": p.field, "problem": p.problem, "remedy": p.remedy} for p in wrong.problems]
        answer = {"ok": False, "errors": problems}
    json.dump(answer, target)
    return 0 if answer["ok"] else 2


if __name__ == "__main__":
    sys.exit(main(sys.stdin, sys.stdout))
