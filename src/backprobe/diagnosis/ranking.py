"""Rank the faults of a sheet by what the readings say, and give every answer its reasons."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.diagnosis.answer import Answer, Estimate, Group, Reason, Suspect, log_none_of_these
from backprobe.diagnosis.cause import causes
from backprobe.diagnosis.controller_proof import hold_back
from backprobe.diagnosis.drops import check_drops
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.evidence import SAME
from backprobe.diagnosis.explain import Explanations
from backprobe.diagnosis.fault_sets import EXPECTED, FITS
from backprobe.diagnosis.given import Readings, sort_readings
from backprobe.diagnosis.search import search
from backprobe.diagnosis.seen import chance_of_rows, soften
from backprobe.diagnosis.wear import alike_at, alike_joints, worn_joints
from backprobe.readings.model import Reading
from backprobe.sheet.anatomy import Mode

NONE_FLOOR = 0.01
"""Belief that *none of these* always keeps, so that a wrong sheet is noticed."""
NONE_CEILING = 0.999
"""Some belief always stays with the sheet, so that its least bad suspects can still be named."""
ALIKE_LOG = 0.8
ALIKE_SPREADS = 1.0
SLIP_NAMED = 0.3
SHOWN = 0.002


def rank_readings(engine: Engine, readings: Sequence[Reading]) -> Answer:
    """Rank the faults of a sheet by what the readings say.

    Parameters
    ----------
    engine
        The sheet, ready.
    readings
        In any order: the answer does not depend on it.
    """
    ordered = sort_readings(engine, readings)
    found = search(engine, ordered)
    log_none = log_none_of_these(ordered)
    peak = max(float(found.log_weight.max()), log_none)
    weight = np.exp(found.log_weight - peak)
    none = max(float(np.exp(log_none - peak)), 1e-300)
    none_share = min(max(NONE_FLOOR, none / (none + weight.sum())), NONE_CEILING)
    relative = np.exp(found.log_weight - float(found.log_weight.max()))
    share: Floats = relative / relative.sum() * (1 - none_share)
    return hold_back(_Builder(engine, ordered, found, share, none_share).answer())


class _Builder:
    def __init__(
        self, engine: Engine, readings: Readings, found: Explanations, share: Floats, none_share: float
    ) -> None:
        self.none_share = none_share
        self.alike = alike_joints(engine, readings)
        self.alike_now: dict[int, list[int]] = {}
        """The same for causes, as bad as each of them is."""
        self.engine = engine
        self.readings = readings
        self.found = found
        self.share = share
        self.modes: tuple[Mode, ...] = engine.catalogue.modes
        self.mode_of = engine.catalogue.mode_of
        self.variance = posterior_variance(found)
        self.holds = np.zeros((len(self.modes), found.count), bool)
        """``(m, e)`` which explanation holds a fault of which mode."""
        for e, rows in enumerate(found.rows):
            self.holds[[int(self.mode_of[r]) for r in rows], e] = True
        sound = [e for e in range(found.count) if not found.rows[e] and found.slip[e] < 0]
        self.sound = sound[0] if sound else None

    def answer(self) -> Answer:
        credits = causes(self.engine, self.readings, self.found, self.share)
        cure: dict[tuple[int, ...], float] = {}
        best: dict[tuple[int, ...], tuple[float, int]] = {}
        label = ["" for _ in range(self.found.count)]
        top = np.zeros(self.found.count)
        for credit in credits:
            key = tuple(sorted(int(self.mode_of[r]) for r in credit.rows))
            gained = float(self.share[credit.explanation]) * credit.restores
            cure[key] = cure.get(key, 0.0) + gained
            if gained > best.get(key, (-1.0, 0))[0]:
                best[key] = (gained, credit.explanation)
            if credit.restores > top[credit.explanation] or not label[credit.explanation]:
                top[credit.explanation] = credit.restores
                label[credit.explanation] = " and ".join(self.modes[m].name for m in key)
        self._share_among_alike(cure, best, label)
        present = self._present()
        suspects = [
            self._suspect(key, chance, present, best[key][1])
            for key, chance in cure.items()
            if chance > SHOWN
        ]
        suspects.sort(key=lambda s: (-round(s.probability, SAME), s.name))
        as_built = float(sum(self.share[e] for e in range(self.found.count) if not self.found.rows[e]))
        groups = tuple(Group(tuple(g)) for g in self._groups(suspects))
        return Answer(
            self.engine,
            self.readings,
            self.found,
            self.share,
            tuple(sorted(groups, key=lambda g: -round(g.probability, SAME))),
            worn_joints(self.engine, self.alike, present, cure, self._severity),
            self._estimates(),
            as_built,
            self.none_share,
            self._slips(),
            check_drops(self.readings.numbers),
            tuple(label),
            sound_fits=self._sound_fits(),
        )

    def _sound_fits(self) -> bool:
        """Whether the sound circuit leaves no reading over: none stands out, nothing seen surprises."""
        if self.sound is None:
            return False
        fits = bool((np.abs(self.found.misfit[self.sound]) < FITS).all())
        return fits and bool((self.found.chance[self.sound] > EXPECTED).all())

    def _share_among_alike(
        self,
        cure: dict[tuple[int, ...], float],
        best: dict[tuple[int, ...], tuple[float, int]],
        label: list[str],
    ) -> None:
        """Share a cause among the joints that no reading tells apart, by how often each is met.

        The search follows one of them into ever larger sets of wear; the others are as likely as
        their rates say. The explanations' shares follow, so that the next check is chosen to split them.
        """
        left = sorted((key[0] for key in cure if len(key) == 1), key=lambda m: -round(cure[m,], SAME))
        while left:
            mode, *left = left
            others = [m for m in self.alike.get(mode, ()) if m in left]
            if not others:
                continue
            # As bad as it is: a little worn they may look alike, and badly worn they are told apart.
            ohms = float(self.found.values[best[mode,][1], self._key_of(mode)])
            members = [mode, *alike_at(self.engine, self.readings, mode, others, ohms)]
            if len(members) < 2:
                continue
            self.alike_now |= dict.fromkeys(members, members)
            left = [m for m in left if m not in members]
            total = sum(cure[m,] for m in members)
            rate = np.array([self.engine.catalogue.prior_of(m) * self._by_eye(m) for m in members])
            rows_of = {m: [e for e, n in enumerate(label) if n == self.modes[m].name] for m in members}
            held = {m: float(self.share[rows].sum()) for m, rows in rows_of.items()}
            whole = sum(held.values())
            for member, part in zip(members, rate / rate.sum(), strict=True):
                cure[member,] = total * float(part)
                if held[member] > 0:
                    self.share[rows_of[member]] *= whole * float(part) / held[member]
        self.share *= (1 - self.none_share) / self.share.sum()

    def _key_of(self, mode: int) -> int:
        """The first parameter that a fault changes."""
        return self.engine.circuit.parameter_of[next(iter(self.modes[mode].changes))]

    def _by_eye(self, mode: int) -> float:
        """What looking and swapping say of a fault alone: these may tell look-alikes apart."""
        rows = [(int(self.engine.rows_of_mode[mode][0]),)]
        chance = 1.0
        for reading in self.readings.others:
            if reading.kind in {"looked", "swapped"}:
                chance *= float(soften(chance_of_rows(self.engine, reading, rows, np.ones(1)))[0])
        return chance

    def _present(self) -> dict[int, float]:
        present: dict[int, float] = {}
        for e, rows in enumerate(self.found.rows):
            for row in rows:
                mode = int(self.mode_of[row])
                present[mode] = present.get(mode, 0.0) + float(self.share[e])
        return present

    def _severity(self, mode: int) -> tuple[float, float, float] | None:
        """90 % interval of a fault's first changed resistance over the explanations that hold it."""
        key = self._key_of(mode)
        if self.modes[mode].spread == 0 or not self.engine.circuit.logarithmic[key]:
            return None
        some = np.flatnonzero(self.holds[mode])
        weight, at = self.share[some], np.log(self.found.values[some, key])
        total = float(weight.sum())
        if total <= 0:
            return None
        mean = float(weight @ at) / total
        square = float(weight @ (at**2 + self.variance[some, key])) / total
        half = 1.645 * max(square - mean**2, 0.0) ** 0.5
        return float(np.exp(mean - half)), float(np.exp(mean)), float(np.exp(mean + half))

    def _suspect(self, key: tuple[int, ...], chance: float, present: dict[int, float], e: int) -> Suspect:
        modes = [self.modes[m] for m in key]
        return Suspect(
            tuple(m.name for m in modes),
            key,
            chance,
            min(present.get(m, 0.0) for m in key),
            self._severity(key[0]) if len(key) == 1 else None,
            "; ".join(m.repair for m in modes),
            sum(m.minutes for m in modes),
            sum(m.cost for m in modes),
            self._reasons(e, key),
            e,
        )

    def _reasons(self, e: int, key: tuple[int, ...]) -> tuple[Reason, ...]:
        # Explanations that lack a fault of the suspect.
        others = np.where(self.holds[list(key)].all(axis=0), 0.0, self.share)
        total = others.sum()
        evidence = self.found.evidence
        reasons: list[Reason] = []
        place = {id(r): i for i, r in enumerate(self.readings.all)}
        for i, reading in enumerate(self.readings.numbers):
            assert evidence is not None
            mine = float(evidence.alone[e, i])
            rest = _log_mean(evidence.alone[:, i], others) if total > 0 else mine
            predicted, sound = self.found.predicted[e, i], self._sound_number(reading)
            measured = self.readings.measured[i]
            if reading.kind == "ohms":
                predicted, sound, measured = np.exp(predicted), np.exp(sound), np.exp(measured)
            reasons.append(
                Reason(place[id(reading)], float(predicted), float(sound), float(measured), mine - rest)
            )
        for j, reading in enumerate(self.readings.others):
            mine = float(np.log(self.found.chance[e, j]))
            rest = _log_mean(np.log(self.found.chance[:, j]), others) if total > 0 else mine
            sound = float("nan")
            if self.sound is not None:
                sound = float(self.found.chance[self.sound, j])
            reasons.append(
                Reason(place[id(reading)], float(self.found.chance[e, j]), sound, 1.0, mine - rest)
            )
        return tuple(sorted(reasons, key=lambda r: r.reading))

    def _sound_number(self, reading: Reading) -> float:
        return float(self.engine.single_number(reading).mean[0])

    def _groups(self, suspects: list[Suspect]) -> list[list[Suspect]]:
        """Suspects whose best explanations say the same of every reading."""
        noise = np.sqrt(np.diag(self.readings.noise)) if self.readings.numbers else np.zeros(0)
        groups: list[list[Suspect]] = []
        for suspect in suspects:
            for group in groups:
                if self._one_group(suspect, group[0], noise):
                    group.append(suspect)
                    break
            else:
                groups.append([suspect])
        return groups

    def _one_group(self, one: Suspect, other: Suspect, noise: Floats) -> bool:
        if len(one.modes) == len(other.modes) == 1 and one.modes[0] in self.alike_now.get(other.modes[0], ()):
            return True
        return len(one.modes) == len(other.modes) and self._alike(one.best, other.best, noise)

    def _alike(self, a: int, b: int, noise: Floats) -> bool:
        if a == b:
            return False
        if self.found.slip[a] != self.found.slip[b] or abs(self._fit(a) - self._fit(b)) > ALIKE_LOG:
            return False
        gap = np.abs(self.found.predicted[a] - self.found.predicted[b])
        return bool((gap <= ALIKE_SPREADS * noise).all())

    def _fit(self, e: int) -> float:
        """Log likelihood of an explanation's readings at its state: priors must not part look-alikes."""
        miss = (
            self.found.residual[e] ** 2 / np.diag(self.readings.noise)
            if self.readings.numbers
            else np.zeros(0)
        )
        kept = np.arange(miss.size) != self.found.slip[e]
        return float(np.log(self.found.chance[e]).sum() - 0.5 * miss[kept].sum())

    def _estimates(self) -> tuple[Estimate, ...]:
        """Values whose interval the readings narrowed, or moved away from nominal."""
        circuit = self.engine.circuit
        log = circuit.logarithmic
        coordinate = circuit.coordinates(self.found.values)
        weight = self.share / self.share.sum()
        mean = weight @ coordinate
        variance = weight @ (coordinate**2 + self.variance) - mean**2
        half = 1.645 * np.sqrt(np.maximum(variance, 0))
        prior = circuit.coordinates(circuit.nominal)
        told: list[tuple[float, Estimate]] = []
        for k in circuit.uncertain:
            narrowed = np.sqrt(max(variance[k], 0)) < 0.7 * circuit.spread[k]
            moved = abs(mean[k] - prior[k]) > 1.5 * circuit.spread[k]
            if narrowed or moved:
                back = np.exp if log[k] else (lambda x: x)
                p = circuit.parameters[k]
                entry = Estimate(
                    p.key,
                    p.value.unit,
                    float(back(mean[k] - half[k])),
                    float(back(mean[k])),
                    float(back(mean[k] + half[k])),
                )
                told.append((abs(mean[k] - prior[k]) / circuit.spread[k], entry))
        return tuple(entry for _, entry in sorted(told, key=lambda t: -t[0]))

    def _slips(self) -> tuple[tuple[int, float], ...]:
        chance = np.zeros(len(self.readings.numbers))
        for e, s in enumerate(self.found.slip):
            if s >= 0:
                chance[s] += self.share[e]
        place = {id(r): i for i, r in enumerate(self.readings.all)}
        return tuple(
            (place[id(self.readings.numbers[i])], float(chance[i]))
            for i in np.argsort(-chance)
            if chance[i] > SLIP_NAMED
        )


def posterior_variance(found: Explanations) -> Floats:
    """``(e, p)`` variance of the parameters (of logarithms where logarithmic) given the readings."""
    if found.evidence is None or found.loading.shape[1] == 0:
        whole: Floats = found.spread**2
        return whole
    reduction = np.einsum("epr,erp->ep", found.evidence.gain, found.loading) * found.spread**2
    left: Floats = np.maximum(found.spread**2 - reduction, 0.0)
    return left


def _log_mean(values: Floats, weight: Floats) -> float:
    peak = float(values[weight > 0].max())
    return peak + float(np.log((weight * np.exp(np.minimum(values - peak, 0))).sum() / weight.sum()))
