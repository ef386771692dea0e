"use strict";
// Single faults weighed against the readings: all of them at once, then the likeliest brought to their
// most probable state (Gauss-Newton steps, Laplace's method).

// The readings sorted into numbers and the rest, with the meter's own errors.
class Readings {
  constructor(card, all) {
    const c = card.constants;
    this.all = all;
    this.numbers = all.filter((r) => isNumber(r) && !r.over && !r.unsteady);
    this.others = all.filter((r) => !(isNumber(r) && !r.over && !r.unsteady));
    const n = this.numbers.length;
    this.measured = this.numbers.map((r) => (r.kind === "ohms" ? Math.log(Math.max(r.value, 1e-3)) : r.value));
    this.noise = new Float64Array(n * n);
    this.numbers.forEach((r, i) => {
      let own = Math.sqrt((r.half ** 2 + r.digit ** 2) / 3);
      if (r.kind === "ohms") {
        own = Math.hypot(own, r.zeroed ? c.touchZeroed : c.touch) / Math.max(r.value, 0.05);
      }
      this.noise[i * n + i] += own ** 2 + c.floor[r.kind] ** 2;
      const shape = (x) => (x.kind === "ohms" ? 1 : x.value);
      this.numbers.forEach((s, j) => {
        if (s.kind === r.kind) this.noise[i * n + j] += (c.gain[r.kind] ** 2 / 3) * shape(r) * shape(s);
      });
    });
    const flat = { volts: -Math.log(1.5 * card.volts), ohms: -Math.log(18) };
    this.slipLog = this.numbers.map((r) => flat[r.kind]);
    const blurred = { volts: c.blur * card.volts, ohms: c.blurLog };
    this.blur = this.numbers.map((r) => blurred[r.kind] ** 2);
    const placed = [...this.numbers, ...this.others].filter((r) => r.kind !== "swapped" && r.kind !== "looked");
    this.setups = [...new Map(placed.map((r) => [setupKey(r), setupOf(r)])).values()];
    const none = Math.log(c.noneOfThese) + sum(this.slipLog) + Math.log(0.5) * this.others.length;
    this.logNone = none;
  }
}

function isNumber(reading) {
  return reading.kind === "volts" || reading.kind === "ohms";
}

function setupOf(reading) {
  return { state: reading.state, off: reading.off };
}

// One build: its circuit, its faults, and what they predict, kept reading by reading.
class Build {
  constructor(card, number) {
    const t = card.builds[number];
    this.card = card;
    this.c = card.constants;
    this.number = number;
    this.circuit = new Circuit(t.circuit, card);
    this.modes = t.modes;
    this.modeOf = t.modeOf;
    this.count = t.modeOf.length;
    this.logPrior = t.logPrior;
    this.rowsOf = t.modes.map(() => []);
    t.modeOf.forEach((m, row) => { if (m >= 0) this.rowsOf[m].push(row); });
    this.t = t;
    this.known = new Map(); // setup key to how the devices stand, row by row
    this.kept = new Map(); // setup and reading to predictions, row by row
  }

  mode(row) {
    return this.modeOf[row] < 0 ? null : this.modes[this.modeOf[row]];
  }

  valuesOf(row) {
    const values = Float64Array.from(this.circuit.nominal);
    this.t.index[row].forEach((k, i) => { if (k >= 0) values[k] = this.t.value[row][i]; });
    return values;
  }

  // Spread of every parameter in a row; `plain` as the quick look over all rows takes it.
  spreadOf(row, plain) {
    const spread = Float64Array.from(this.circuit.t.spread), log = this.circuit.t.logarithmic;
    for (const k of this.t.index[row]) {
      if (k >= 0) spread[k] = plain || log[k] ? this.t.spreadOf[row] : 0;
    }
    return spread;
  }

  standing(key, row) {
    if (!this.known.has(key)) {
      const told = this.t.settled.rows[key];
      this.known.set(key, told ? Uint8Array.from(atob(told), (x) => x.charCodeAt(0)) : null);
    }
    const rows = this.known.get(key);
    if (!rows || rows[row] === this.t.settled.untold) return null;
    const pattern = Array.from(this.t.settled.patterns[rows[row]], Number);
    return { chatters: Boolean(pattern.pop()), modes: pattern };
  }

  // Predictions of all rows for all readings of one setup that are not kept yet.
  predictAll(readings, setup) {
    const key = setupKey(setup), stage = this.circuit.stage(setup);
    const keyOf = (r) => `${key}~${r.kind}~${r.red}~${r.black}~${r.subject}~${r.seen}~${r.over}~${r.zeroed}`;
    const wanted = readings.all.filter((r) => setupKey(r) === key && r.kind !== "looked" && r.kind !== "swapped");
    const fresh = wanted.filter((r) => !this.kept.has(keyOf(r)));
    if (fresh.length || !this.kept.has(key)) {
      const burnt = [], out = fresh.map(() => []);
      for (let row = 0; row < this.count; row++) {
        const e = this.circuit.solve(stage, this.valuesOf(row), this.standing(key, row));
        if (!stage.limits) stage.limits = this.limitsOf(e);
        burnt.push(burns(e, stage.limits));
        fresh.forEach((r, i) => out[i].push(this.look(e, r)));
      }
      this.kept.set(key, burnt);
      fresh.forEach((r, i) => this.kept.set(keyOf(r), out[i]));
    }
    return { burnt: this.kept.get(key), of: (r) => this.kept.get(keyOf(r)) };
  }

  look(e, r) {
    if (isNumber(r) && !r.over && !r.unsteady) return predictNumber(e, r, this.number);
    return r.unsteady ? 1 : chanceOf(e, r, this.number);
  }

  limitsOf(sound) {
    const survives = this.circuit.t.survives;
    return survives.map((x, b) => (x === null ? { amps: Infinity, watts: Infinity } : {
      amps: Math.max(x, 2 * Math.abs(sound.currents[b])),
      watts: Math.max(this.c.glows, 2 * heatOf(sound, b)),
    }));
  }

  // What every row predicts of every reading: numbers, chances, and what would have burnt.
  singles(readings) {
    const places = new Map(readings.setups.map((s) => [setupKey(s), this.predictAll(readings, s)]));
    const numbers = readings.numbers.map((r) => places.get(setupKey(r)).of(r));
    const others = readings.others.map((r) => {
      const plain = r.kind === "looked" || r.kind === "swapped" ? null : places.get(setupKey(r)).of(r);
      return Array.from({ length: this.count }, (_, row) =>
        soften(this.c, chanceOfFault(this.c, r, this.mode(row), plain ? plain[row] : 1)));
    });
    const burnt = new Float64Array(this.count);
    for (const p of places.values()) p.burnt.forEach((x, row) => { burnt[row] += x; });
    return { numbers, others, burnt };
  }

  // Log weight of every row, linearised at its cell's centre: as read, and with each number as a slip.
  singleWeights(readings, found, coarse) {
    const c = this.c, n = readings.numbers.length, price = Math.log(c.slip / (1 - c.slip));
    const plain = [], slipped = [];
    for (let row = 0; row < this.count; row++) {
      const spread = this.spreadOf(row, true);
      const changed = this.t.index[row].filter((k) => k >= 0);
      const loading = found.numbers.map((p) => p[row].loading);
      const extra = found.numbers.map((p, i) => {
        // A straight line through a cell's centre is off by a share of what the cell spans.
        const span = sum(changed.map((k) => (loading[i][k] * spread[k]) ** 2));
        return p[row].extra + c.bend ** 2 * span + (coarse ? readings.blur[i] : 0);
      });
      const residual = found.numbers.map((p, i) => readings.measured[i] - p[row].mean);
      const g = gaussian(c, residual, covarianceOf(loading, spread, readings.noise, extra));
      let weight = this.logPrior[row] + g.whole + n * Math.log1p(-c.slip) + found.burnt[row];
      for (const chance of found.others) weight += Math.log(chance[row]);
      plain.push(weight);
      slipped.push(g.alone.map((a, i) => weight - a + readings.slipLog[i] + price));
    }
    return { plain, slipped };
  }

  // One fault (row 0: none), with at most one reading as a slip, brought to its most probable state.
  weigh(readings, found, row, slip, bonus) {
    const c = this.c, log = this.circuit.t.logarithmic, n = readings.numbers.length;
    const start = this.valuesOf(row), spread = this.spreadOf(row, false), count = start.length;
    const noise = Float64Array.from(readings.noise);
    if (slip >= 0) noise[slip * n + slip] += c.slipped;
    let values = Float64Array.from(start);
    let look = {
      numbers: found.numbers.map((p) => p[row]),
      chance: found.others.map((p) => p[row]),
      burnt: found.burnt[row],
    };
    const moved = (to, from) => to.map((x, p) => (log[p] ? Math.log(x / from[p]) : x - from[p]));
    // Log density of a state, but for what is the same at all of them.
    const density = () => {
      const meter = Float64Array.from(noise);
      look.numbers.forEach((p, i) => { meter[i * n + i] += p.extra; });
      const g = gaussian(c, look.numbers.map((p, i) => readings.measured[i] - p.mean), meter);
      let fit = g.logDet + look.numbers.reduce((s, p, i) => s + g.weighted[i] * (readings.measured[i] - p.mean), 0);
      moved(values, start).forEach((x, p) => { if (spread[p] > 0) fit += (x / spread[p]) ** 2; });
      return look.burnt + sum(look.chance.map(Math.log)) - 0.5 * fit;
    };
    const linear = () => {
      const shift = moved(values, start), loading = look.numbers.map((p) => p.loading);
      const offset = look.numbers.map((p, i) =>
        readings.measured[i] - p.mean + dot(p.loading, shift));
      const covariance = covarianceOf(loading, spread, noise, look.numbers.map((p) => p.extra));
      return { g: gaussian(c, offset, covariance), loading, shift };
    };
    // The best state met so far is kept, and a step that leads lower is halved: modes bend the slope.
    let best = null, idle = 0;
    for (let step = 0; step <= c.steps && n; step++) {
      if (step) look = this.evaluate(readings, row, values);
      const now = density(), gain = best ? now - best.density : Infinity;
      if (gain > 0) best = { density: now, values, look };
      if (step === c.steps) break;
      idle = gain > c.flat ? 0 : idle + 1;
      if (idle === c.patience || (step && look.numbers.some((p) => p.extra >= c.chatter ** 2))) break;
      if (gain <= 0) {
        values = values.map((x, p) => (log[p] ? Math.sqrt(Math.abs(x * best.values[p])) : 0.5 * (x + best.values[p])));
        continue;
      }
      const { g, loading } = linear(), wanted = Float64Array.from(start);
      for (let p = 0; p < count; p++) {
        let change = 0;
        for (let r = 0; r < n; r++) change += loading[r][p] * g.weighted[r];
        change = Math.min(Math.max(change * spread[p] ** 2, -4 * spread[p]), 4 * spread[p]);
        wanted[p] = log[p] ? start[p] * Math.exp(change) : start[p] + change;
      }
      const move = moved(wanted, values), meter = Float64Array.from(noise);
      look.numbers.forEach((p, i) => { meter[i * n + i] += p.extra; });
      const shown = loading.map((l) => dot(l, move)), told = gaussian(c, shown, meter).weighted;
      let felt = dot(shown, told);
      move.forEach((x, p) => { if (spread[p] > 0) felt += (x / spread[p]) ** 2; });
      if (!(0.5 * felt > c.arrived)) break;
      values = wanted;
    }
    if (best) ({ values, look } = best);
    const { g, loading, shift } = linear();
    const residual = look.numbers.map((p, i) => readings.measured[i] - p.mean);
    let weight = this.logPrior[row] + bonus + look.burnt + n * Math.log1p(-c.slip);
    weight += this.laplace(residual, shift, spread, noise, look, g.logDet);
    for (const chance of look.chance) weight += Math.log(chance);
    if (slip >= 0) weight += Math.log(c.slip) - Math.log1p(-c.slip) + readings.slipLog[slip] - g.alone[slip];
    const predicted = look.numbers.map((p) => p.mean);
    return {
      row, slip, weight, values, start, spread, predicted, residual, loading, chance: look.chance,
      misfit: g.misfit, inverse: g.inverse, alone: g.alone, mode: this.modeOf[row],
    };
  }

  evaluate(readings, row, values) {
    let burnt = 0;
    const seen = new Map();
    for (const setup of readings.setups) {
      const key = setupKey(setup), stage = this.circuit.stage(setup);
      const e = this.circuit.solve(stage, values, null);
      burnt += burns(e, stage.limits);
      for (const r of readings.all) {
        if (setupKey(r) === key && r.kind !== "looked" && r.kind !== "swapped") seen.set(r, this.look(e, r));
      }
    }
    const mode = this.mode(row);
    return {
      numbers: readings.numbers.map((r) => seen.get(r)),
      chance: readings.others.map((r) =>
        soften(this.c, chanceOfFault(this.c, r, mode, seen.has(r) ? seen.get(r) : 1))),
      burnt,
    };
  }

  // Log evidence at the state reached (Laplace's method, MacKay 2003, ch. 27).
  laplace(residual, shift, spread, noise, look, logDet) {
    const n = residual.length;
    if (!n) return 0;
    const meter = Float64Array.from(noise);
    look.numbers.forEach((p, i) => { meter[i * n + i] += p.extra; });
    let fit = gaussian(this.c, residual, meter).weighted.reduce((s, w, i) => s + w * residual[i], 0);
    for (let p = 0; p < spread.length; p++) if (spread[p] > 0) fit += (shift[p] / spread[p]) ** 2;
    return -0.5 * (fit + logDet + n * this.c.log2pi);
  }
}

function dot(a, b) {
  let total = 0;
  for (let k = 0; k < a.length; k++) total += a[k] * b[k];
  return total;
}
