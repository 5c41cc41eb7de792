"""What the demonstration shows: an invented beer in an invented cupboard, some days into its batch."""

from datetime import datetime, timedelta

from sensors.simulated.scenario import Beer, Doors, Heating, Room, Scenario, Weather
from sensors.simulated.tip import Tip, Where

PITCHED_BEFORE = timedelta(days=4, hours=12)


def demo_scenario(now: datetime) -> Scenario:
    """Five litres in a bucket, pitched four and a half days before `now` (aware UTC)."""
    return Scenario(
        name="Lantern brown in the stair cupboard",
        starts=(now - PITCHED_BEFORE).replace(second=0, microsecond=0),
        rooms={
            "cupboard": Room(
                mean_c=17.3,
                swing_c=0.35,
                warmest_h=18.0,
                outdoors=0.08,
                heating=Heating(on_h=6.0, off_h=22.0, lift_c=0.6, ripple_c=0.12, period_min=50.0),
                doors=Doors(per_day=4.0, drop_c=0.5, recover_min=10.0),
            )
        },
        place="cupboard",
        weather=Weather(mean_c=8.0, swing_c=3.0),
        beer=Beer(name="Lantern brown", litres=5.0, og=1.046, pitched_c=18.5, attenuation=0.74, lag_h=9.0),
        probe=Tip(Where.MIDDLE, lag_s=150.0, air_share=0.05),
    )
