"""An engine with known truth: the independent witness of the measures.

    from logan import simulate
    simulation = simulate.run(simulate.make_spec(profile="training_rotary_six", fault="pump_key_wrong", size=-3))
    simulate.write(simulation, "folder", "drive")

What can be made wrong, on which engine, in which unit: ``data/faults.toml``; engines, drive scripts and the trouble
codes that the control module sets are data files beside it.
"""

from logan.simulate.simulation import Simulation, run, write
from logan.simulate.spec import Bus, Damage, Fault, Sensors, Spec, make_spec

__all__ = ["Bus", "Damage", "Fault", "Sensors", "Simulation", "Spec", "make_spec", "run", "write"]
