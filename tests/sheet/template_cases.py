"""One complaint with readings for each template, and the suspect that must lead, with the arithmetic."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Case:
    """A template, what was read on an invented machine, and how the leading suspect begins."""

    template: str
    suspect: str
    readings: str


CASES = (
    # Nothing flows: the whole battery stands before the open contact, nothing after it.
    Case(
        "start-chain",
        "neutral switch: ",
        "state: key start, seat seated, lever neutral, brake set, C4 unplugged\n"
        "relay K1 dead\n"
        "C2-1 to battery-: 12.32 V\n"
        "C2-2 to battery-: 0.01 V\n",
    ),
    # 12.21 - 5.44 = 6.77 V lost in the bar switch, 5.38 V over the coil: 6.77 / 5.38 = 1.26 times its ohms.
    Case(
        "safety-chain",
        "bar switch: contact worn or dirty",
        "state: key on, seat seated, bar down, all plugged\n"
        "arms dead\n"
        "C2-1 to battery-: 12.21 V\n"
        "C2-2 to battery-: 5.44 V\n"
        "C3-1 to C3-2: 5.38 V\n",
    ),
    # 4.24 V on the lug, 0.03 V on the metal: 4.21 V over the joint; the clutch keeps 11.66 - 4.31 = 7.35 V.
    Case(
        "blade-clutch",
        "ring G1: bad joint to metal (high resistance)",
        "state: key on, PTO on, seat seated, all plugged\n"
        "blades dead\n"
        "C3-1 to battery-: 11.66 V\n"
        "C3-2 to battery-: 4.31 V\n"
        "ring G1 lug to battery-: 4.24 V\n"
        "frame to battery-: 0.03 V\n",
    ),
    # Both resistors and the input's own: 5.03 x 1 / (11 + 1) = 0.42 V is the open switch, seat taken or not.
    Case(
        "seat-switch-supervised",
        "seat switch: ",
        "state: key on, seat seated, lever raise, all plugged\n"
        "lift dead\n"
        "C2-1 to battery-: 5.03 V\n"
        "C2-2 to battery-: 0.42 V\n",
    ),
    # Feed and return are there, and the pull-up reaches the sensor by a whole wire: it does not pull.
    Case(
        "three-wire-sensor-low",
        "gate sensor: ",
        "state: key on, gate shut, lever raise, all plugged\n"
        "lift dead\n"
        "gate lamp lit\n"
        "C2-1 to C2-3: 7.93 V\n"
        "C2-2 to battery-: 7.88 V\n",
    ),
    # 10.06 V leaves the controller and 0.02 V arrives: all is lost in one wire, with next to no current.
    Case(
        "three-wire-sensor-high",
        "wire C1-3 to C2-1: broken",
        "state: key on, gate shut, lever raise, all plugged\n"
        "lift dead\n"
        "C1-3 to battery-: 10.06 V\n"
        "C2-1 to battery-: 0.02 V\n",
    ),
    # 3.58 / 4.97 = 72 % leaves the sensor, as it should with the gate shut; the input's pull-down makes 0 V.
    Case(
        "three-wire-sensor-middle",
        "wire C2-2 to C1-4: broken",
        "state: key on, gate shut, lever raise, all plugged\n"
        "lift dead\n"
        "C2-1 to battery-: 4.97 V\n"
        "C2-2 to battery-: 3.58 V\n"
        "C1-4 to battery-: 0.00 V\n",
    ),
    # Without its return the sensor hangs on the input's 100 kohm: 5.02 V less 50 uA x some hundred ohm.
    Case(
        "position-sensor",
        "wire C2-3 to C1-5: broken",
        "state: key start, lever neutral, all plugged\n"
        "start dead\n"
        "C2-1 to battery-: 5.02 V\n"
        "C2-3 to battery-: 4.94 V\n"
        "C1-5 to battery-: 0.01 V\n",
    ),
    # With a tooth before it a sound one pulls to 8 x 30 / 4030 = 0.06 V; 7.97 V is the pull-up alone.
    Case(
        "speed-pick-up",
        "wheel sensor: ",
        "state: key on, seat seated, wheel tooth, all plugged\n"
        "drive dead\n"
        "C2-1 to C2-3: 8.06 V\n"
        "C2-2 to battery-: 7.97 V\n"
        "C4-1 to battery-: 0.05 V\n",
    ),
    # 8.2 V on both sides of the sensor: no current, and the loop is open behind it.
    Case(
        "two-wire-proximity",
        "wire C2-2 to C1-4: broken",
        "state: key on, gate shut, lever raise, all plugged\n"
        "lift dead\n"
        "C2-1 to battery-: 8.19 V\n"
        "C2-2 to battery-: 8.15 V\n"
        "C1-4 to battery-: 0.01 V\n",
    ),
    # The driver gives 12.31 V with its plug on, the coil gets 0.02 V.
    Case(
        "lock-valve-high-side",
        "wire C1-4 to C3-1: broken",
        "state: key on, gate shut, lever raise, all plugged\n"
        "lift dead\n"
        "C1-4 to battery-: 12.31 V\n"
        "C3-1 to battery-: 0.02 V\n",
    ),
    # Plus before the coil, the driver's ground behind it, and no ohms between its pins.
    Case(
        "lock-valve-low-side",
        "coil Y1: winding open",
        "state: key on, bar down, lever raise, all plugged\n"
        "arms dead\n"
        "C3-1 to battery-: 12.44 V\n"
        "C3-2 to battery-: 0.01 V\n"
        "state: key off, C3 unplugged\n"
        "C3-1 part side to C3-2 part side: OL\n",
    ),
    # The common follows the pull-up through the closed contact: the contact is good and its ground is not.
    Case(
        "complementary-switch",
        "wire C2-3 to ring G2: broken",
        "state: key start, lever neutral, all plugged\n"
        "start dead\n"
        "C2-1 to battery-: 7.92 V\n"
        "C2-3 to battery-: 7.91 V\n"
        "ring G2 lug to battery-: 0.01 V\n",
    ),
    # A feed of 0.1 A at 2.41 V sees 24 ohm; it comes back with the plug off: the 24 ohm are on the part side.
    Case(
        "shared-sensor-feed",
        "gate sensor: pulls its supply down",
        "state: key on, seat seated, gate shut, lever raise\n"
        "lift dead, all plugged\n"
        "C2-1 to battery-: 2.41 V, all plugged\n"
        "C2-1 to battery-: 4.96 V, C3 unplugged\n"
        "C3-1 part side to C3-3 part side: 24 ohm, key off, C3 unplugged\n",
    ),
    # One terminator reads 120 ohm beside the node; with the other end unplugged it is no more.
    Case(
        "bus-pair",
        "terminator R2: missing or open",
        "state: key off\n"
        "X1-1 to X1-2: 119.6 ohm, all plugged\n"
        "X1-1 to X1-2: 119.6 ohm, X3 unplugged\n"
        "X3-1 part side to X3-2 part side: OL, X3 unplugged\n",
    ),
    # 14.31 - 0.04 - 0.02 - 1.82 = 12.43 V are left for the battery: the 1.82 V are lost in its own strap.
    Case(
        "charging-and-ground",
        "strap E3: ",
        "state: motor runs, key on, seat seated, all plugged\n"
        "arms works\n"
        "alternator.stud to engine: 14.31 V\n"
        "alternator.stud to battery+: 0.04 V\n"
        "engine to frame: 0.02 V\n"
        "frame to battery-: 1.82 V\n",
    ),
    # The pull-up's volts stand before the pressed button, nothing behind it; the seat input is near ground.
    Case(
        "operate-button",
        "operate button: does not close",
        "state: key on, seat seated, operate button pressed, all plugged\n"
        "arms dead\n"
        "armed lamp dark\n"
        "C2-1 to battery-: 0.04 V\n"
        "C4-1 to battery-: 7.94 V\n"
        "C4-2 to battery-: 0.01 V\n",
    ),
    # The relay pulls in, so its coil is fed; let go, 30 has the battery, 87 nothing, and its wire is whole.
    Case(
        "self-holding-relay",
        "relay K1: contact burnt",
        "state: key on, cover shut, stop button released, all plugged\n"
        "drum works, start button pressed\n"
        "relay K1 works, start button pressed\n"
        "drum dead, start button released, held in set\n"
        "relay K1.30 to battery-: 12.37 V, start button released, held in set\n"
        "relay K1.87 to battery-: 0.01 V, start button released, held in set\n"
        "relay K1.87 to splice S2: 0.2 ohm, key off, start button released, held in clear\n",
    ),
)
