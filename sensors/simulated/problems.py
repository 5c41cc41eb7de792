"""What is wrong with a scenario."""


class ScenarioError(ValueError):
    """A scenario that cannot be simulated. The writer of the file mends the field.

    field: JSON pointer into the file (`/beer/og`, empty for the whole of it).
    """

    def __init__(self, field: str, problem: str, remedy: str) -> None:
        self.field = field
        self.problem = problem
        self.remedy = remedy
        super().__init__(f"{field or 'The scenario'}: {problem}. {remedy}")
