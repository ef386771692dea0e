"""The library of circuits as a mechanic asks for it: by complaint, in plain words."""

from __future__ import annotations

from backprobe.web.texts import N_

LIBRARY: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    (
        N_("It will not crank"),
        (
            ("start-chain", N_("Key, seat, neutral and brake switch in a row hold a start relay")),
            ("position-sensor", N_("A lever sensor and a controller release the start in neutral")),
        ),
    ),
    (
        N_("It does not run, or dies at once"),
        (
            ("safety-chain", N_("Guard switches in a row feed the fuel valve or its coil")),
            ("self-holding-relay", N_("A start button pulls in a relay that holds itself")),
        ),
    ),
    (N_("Blades or clutch do not engage"), (("blade-clutch", N_("Key, PTO and seat switch feed a clutch")),)),
    (
        N_("Arms, boom or drive stay locked"),
        (
            ("lock-valve-high-side", N_("Lock valve: the controller gives it plus")),
            ("lock-valve-low-side", N_("Lock valve: the controller gives it minus")),
            ("operate-button", N_("A button arms the machine until the seat is left")),
            ("seat-switch-supervised", N_("Seat switch with resistors in it")),
            ("complementary-switch", N_("Lever switch with two signals that must differ")),
            ("speed-pick-up", N_("Speed sensor that must see teeth pass")),
        ),
    ),
    (
        N_("A gate, door or bar is not seen as shut"),
        (
            ("three-wire-sensor-high", N_("Three wires, the signal goes up when shut (PNP)")),
            ("three-wire-sensor-low", N_("Three wires, the signal goes to ground when shut (NPN)")),
            ("three-wire-sensor-middle", N_("Three wires, the signal stands in the middle when shut")),
            ("two-wire-proximity", N_("Two wires, the sensor tells by its current")),
            ("shared-sensor-feed", N_("Several sensors on one feed: all are out at once")),
        ),
    ),
    (
        N_("Flat battery, or odd things all at once"),
        (("charging-and-ground", N_("Alternator, battery and ground straps")),),
    ),
    (N_("Controllers do not talk"), (("bus-pair", N_("Bus: two wires with a terminator at each end")),)),
)
"""Complaint to its templates, each with a title; what is complained of most comes first."""
