"""Questions about forgotten buttons, on the running service."""

from service.actions import questions
from service.actions.desk import Desk
from service.errors import NotFoundError
from service.plans.noticing import What
from web.questions import QuestionView


def questions_of(desk: Desk, batch_id: str) -> tuple[QuestionView, ...]:
    """What a batch asks now."""
    return tuple(
        QuestionView(one.what, one.to, one.at, one.say) for one in questions.questions_of(desk, batch_id)
    )


class QuestionsPart:
    """What the two buttons ask."""

    _desk: Desk

    def answer_question(self, batch_id: str, what: str, by: str, *, yes: bool) -> None:  # noqa: ARG002
        """Answer what is asked."""
        if what not in {each.value for each in What}:
            raise NotFoundError("That is not asked of this batch, or not any more.")
        if yes:
            questions.say_yes(self._desk, batch_id, What(what))
        else:
            questions.say_no(self._desk, batch_id, What(what))
