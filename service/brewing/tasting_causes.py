"""Which rules are asked for which tasted fault."""

from collections.abc import Mapping
from types import MappingProxyType

from service.brewing import tasting_flavour as flavour
from service.brewing import tasting_gas as gas
from service.brewing.tasting import Explanation, Fault, Looker, TastingEvidence, explained


def explain(fault: Fault, evidence: TastingEvidence) -> Explanation:
    """What in the record could explain a fault."""
    return explained(fault, LOOKERS[fault], evidence)


LOOKERS: Mapping[Fault, tuple[Looker, ...]] = MappingProxyType(
    {
        Fault.HOT: (flavour.warm_early,),
        Fault.BUTTER: (
            flavour.smelled_before,
            flavour.cold_early,
            flavour.no_warm_rest,
            flavour.fell_asleep,
        ),
        Fault.GREEN_APPLE: (flavour.packaged_young, flavour.cold_early, gas.above_end, flavour.drunk_young),
        Fault.FLAT: (gas.few_warm_days, gas.little_sugar),
        Fault.GUSHING: (
            gas.not_steady,
            gas.above_end,
            gas.fell_after,
            gas.much_sugar,
            gas.below_end,
            gas.late_addition,
            gas.mixed_culture,
            gas.opened_warm,
        ),
    }
)
