"""What a stage of a kind asks for by custom, whatever the plan says: the cold, and bottles that carbonate.

Common practice, from memory. They come beside the plan's own prompts and are asked once, like these.
"""

from collections.abc import Mapping
from types import MappingProxyType

from service.plans.kinds import StageKind
from service.plans.model import Plan, Prompt, Stage

DAY_S = 86400.0

CUSTOMARY: Mapping[StageKind, tuple[Prompt, ...]] = MappingProxyType(
    {
        StageKind.CRASH: (
            Prompt(
                "Protect the airlock before it cools: the gas above the beer shrinks and sucks in what "
                "stands in it. Take the liquid out and cover it loosely, or put on a bag of gas. "
                "Never seal a rigid vessel: it is crushed, or lets air in",
                at_s=0.0,
            ),
        ),
        StageKind.CONDITION: (
            *(
                Prompt(
                    "If a soft plastic bottle was filled with the others, squeeze it: is it firm? "
                    "Write it down",
                    at_s=days * DAY_S,
                )
                for days in (3, 7, 14)
            ),
            Prompt(
                "Chill and open one bottle, stir its gas out, measure its gravity and write it down: if it "
                "lies below the beer that went in, the bottles go on fermenting",
                at_s=21 * DAY_S,
            ),
        ),
    }
)


def is_customary(plan: Plan, stage: str, prompt: int | None) -> bool:
    """Whether a prompt, by its number in its stage, is one of custom: the beer does not wait for those."""
    here = plan.stage(stage)
    return here is not None and prompt is not None and prompt >= len(here.prompts)


def prompts_of(stage: Stage) -> tuple[Prompt, ...]:
    """The prompts of a stage: its plan's own, then those of custom."""
    return (*stage.prompts, *CUSTOMARY.get(stage.kind, ()))
