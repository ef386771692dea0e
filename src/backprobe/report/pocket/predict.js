"use strict";
// What a solved circuit shows: numbers with their dependence on every uncertain value, and chances of words.

// What two leads see: open-circuit volts, resistance, and the volts that one ampere puts across each branch.
function port(e, red, black) {
  const t = e.stage.circuit.t, into = new Float64Array(t.nodes);
  if (red >= 0) into[red] += 1;
  if (black >= 0) into[black] -= 1;
  const far = e.net.solve(into), across = new Float64Array(t.from.length);
  for (let b = 0; b < across.length; b++) across[b] = at(far, t.from[b]) - at(far, t.to[b]);
  return {
    volts: at(e.volts, red) - at(e.volts, black),
    ohms: at(far, red) - at(far, black),
    across,
  };
}

// Derivative of the volts between two leads by every parameter (by its logarithm for a resistance).
function loadingOf(e, across, scale, loading) {
  const t = e.stage.circuit.t;
  for (let b = 0; b < across.length; b++) {
    let passive = e.currents[b];
    if (t.amps[b] >= 0) {
      const constant = e.driven[b] !== 0 ? e.driven[b] : 0;
      passive -= constant;
      loading[t.amps[b]] -= scale * across[b] * constant;
    }
    loading[t.ohms[b]] += scale * across[b] * passive;
    if (t.emf[b] >= 0) loading[t.emf[b]] -= scale * across[b] * e.siemens[b] * t.sign[b];
  }
}

// What an ohmmeter makes of a resistance with volts of its own.
function ohmsShown(c, volts, ohms, leads) {
  const whole = ohms + leads;
  const test = Math.min(c.testAmps, c.testVolts / Math.max(whole, 1e-3));
  const pushed = whole < c.overRange && Math.abs(volts) > c.noVolts ? volts / test : 0;
  const least = Math.max(Math.abs(whole + pushed), 0.1 * (whole + Math.abs(pushed)));
  const size = Math.min(Math.max(least, 1e-3), 1e9);
  return { shown: whole + pushed < 0 ? -size : size, pushed };
}

// A number as the circuit predicts it: mean, loading on every parameter, added variance.
function predictNumber(e, reading, build) {
  const circuit = e.stage.circuit, c = circuit.c, t = circuit.t;
  const red = reading.nodes[build][0], black = reading.nodes[build][1];
  const p = port(e, red, black), loading = new Float64Array(circuit.nominal.length);
  let extra = e.chatters ? c.chatter ** 2 : 0;
  if (reading.kind === "volts") {
    const share = c.meter / (c.meter + p.ohms);
    extra += ((c.ghost * p.ohms) / (p.ohms + c.ghostOhms)) ** 2;
    loadingOf(e, p.across, share, loading);
    return { mean: p.volts * share, loading, extra };
  }
  const { shown, pushed } = ohmsShown(c, p.volts, p.ohms, reading.zeroed ? 0 : c.leads);
  for (let b = 0; b < p.across.length; b++) {
    loading[t.ohms[b]] += (p.across[b] ** 2 * e.siemens[b]) / shown;
  }
  if (pushed !== 0) {
    loadingOf(e, p.across, pushed / p.volts / shown, loading);
    extra += Math.min(((pushed / shown) * c.testSpread) ** 2, (2 * c.testSpread) ** 2);
  }
  return { mean: Math.log(Math.abs(shown)), loading, extra };
}

// What a branch turns into heat [W].
function heatOf(e, b) {
  const t = e.stage.circuit.t;
  return e.currents[b] === 0 ? 0 : e.currents[b] ** 2 * e.values[t.ohms[b]];
}

// Natural-log factor of a circuit in which thin wiring would carry, or heat up in one spot, too much.
function burns(e, limits) {
  let most = 0;
  limits.forEach(({ amps, watts }, b) => {
    most = Math.max(most, Math.abs(e.currents[b]) / amps, heatOf(e, b) / watts);
  });
  return e.stage.circuit.c.burnt * Math.min(Math.max(2 * (most - 1), 0), 1);
}

function functionWorks(e, name) {
  const circuit = e.stage.circuit, t = circuit.t, f = t.functions.find((x) => x.name === name);
  let chance = 1;
  for (const load of f.loads) {
    const { branch, volts: k } = t.loads[load];
    const spread = Math.hypot(t.spread[k], 0.01 * circuit.card.volts);
    chance *= below((circuit.effective(e, branch) - e.values[k]) / spread) * fusesHold(e, branch);
  }
  if (!f.loads.length) chance = f.drives.every((d) => e.modes[d]) ? 1 : 0;
  return e.chatters ? 0.1 * chance : chance;
}

function fusesHold(e, branch) {
  const circuit = e.stage.circuit, c = circuit.c, needed = c.carries * Math.abs(e.currents[branch]);
  let chance = 1;
  for (const d of circuit.t.devices) {
    if (d.is !== "melter") continue;
    const through = Math.abs(e.currents[d.branch]);
    if (through < needed) continue;
    chance *= 1 - below(Math.log(Math.max(through, 1e-6) / e.values[d.amps]) / c.fuseSpread);
  }
  return chance;
}

function meltChance(e, fuse) {
  const circuit = e.stage.circuit, i = circuit.t.melters[fuse];
  if (i === undefined) return 0;
  const d = circuit.t.devices[i];
  if (e.modes[i]) return 1;
  const share = Math.max(Math.abs(e.currents[d.branch]) / e.values[d.amps], 1e-6);
  return below(Math.log(share) / circuit.c.fuseSpread);
}

function codeChance(e, reading) {
  const circuit = e.stage.circuit, entry = circuit.t.inputs[reading.subject];
  const level = circuit.level(entry, e), spread = 0.01 * Math.abs(level) + 0.02;
  let chance = 0;
  for (const band of entry.bands) {
    if (band.means !== reading.seen) continue;
    // Between the edges of a hysteresis either meaning may have been kept: half a chance for each.
    for (const [low, high] of [[band.low, band.high], band.falling]) {
      const under = low > 0 ? below((low - level) / spread) : 0;
      chance += 0.5 * (below((high - level) / spread) - under);
    }
  }
  if (entry.quiet < 0) return chance;
  if (!circuit.heard(entry, reading.seen, e.modes, true)) return 0;
  return e.modes[entry.quiet] ? 1 : chance;
}

function lampChance(e, reading) {
  const circuit = e.stage.circuit, lamp = circuit.t.lamps[reading.subject];
  const load = circuit.t.loads[reading.subject];
  const looks = load && (!lamp || lamp.fed) ? lampLooks(e, load) : null;
  if (!lamp) return looks[reading.seen] ?? looks.lit;
  const true_ = lamp.patterns.filter(([, rule]) => circuit.holds(rule, e, e.modes));
  const shown = true_.some(([pattern]) => pattern === reading.seen) ? 1 : 0;
  if (!looks) return reading.seen === "dark" ? (true_.length ? 0 : 1) : shown;
  if (reading.seen === "dark" || reading.seen === "dim") return looks[reading.seen];
  const steady = reading.seen === "lit" && !true_.length ? 1 : 0;
  return Math.max(shown, steady) * looks.lit;
}

function lampLooks(e, load) {
  const circuit = e.stage.circuit, c = circuit.c, volts = circuit.effective(e, load.branch);
  let bright, glows;
  if (load.kind === "led") {
    const log = Math.log(Math.max(volts / e.values[load.volts], 1e-9));
    bright = below(log / c.ledSpread);
    glows = below((log - Math.log(c.ledGlows)) / c.ledSpread);
  } else {
    const share = volts / circuit.card.volts;
    bright = below((share - 0.6) / 0.05);
    glows = below((share - 0.25) / 0.05);
  }
  return { lit: bright, dim: glows - bright, dark: 1 - glows };
}

function overRangeChance(e, reading, build) {
  const c = e.stage.circuit.c, p = port(e, reading.nodes[build][0], reading.nodes[build][1]);
  const chance = below(Math.log(Math.min(Math.max(p.ohms, 1e-3), 1e12) / c.overRange) / 0.5);
  return Math.abs(p.volts) > c.confused ? Math.max(chance, 0.5) : chance;
}

// Chance of something seen, as the circuit has it, before faults are looked at and before slips of the eye.
function chanceOf(e, reading, build) {
  switch (reading.kind) {
    case "works": {
      const works = functionWorks(e, reading.subject);
      return reading.seen === "works" ? works : 1 - works;
    }
    case "click": {
      const pulled = e.modes[e.stage.circuit.t.armatures[reading.subject]] ? 1 : 0;
      return reading.seen === "clicks" ? pulled : 1 - pulled;
    }
    case "code": return codeChance(e, reading);
    case "lamp": return lampChance(e, reading);
    case "fuse": return meltChance(e, reading.subject);
    case "ohms": return reading.over ? overRangeChance(e, reading, build) : 1;
    default: return 1;
  }
}

// The same with what a fault says of itself: looks, swaps, blown fuses, needles that will not stand still.
function chanceOfFault(c, reading, mode, plain) {
  const mine = mode !== null && mode.part === reading.subject;
  if (reading.kind === "looked") {
    const seen = mine ? mode.eye : c.falseSign;
    return reading.seen === "fine" ? 1 - seen : seen;
  }
  if (reading.kind === "swapped") {
    const cured = mine ? 0.95 : 0.02;
    return reading.seen === "works now" ? cured : 1 - cured;
  }
  if (reading.kind === "fuse") {
    const broken = mine && mode.broken, hidden = mine && mode.hidden;
    const shows = broken ? (hidden ? c.linkSeen : c.fuseSeen) : c.falseFuse;
    const blown = Math.max(shows, c.fuseSeen * plain);
    return reading.seen === "blown" ? blown : 1 - blown;
  }
  if (reading.unsteady) return mode !== null && mode.comesAndGoes ? 0.25 : 0.02;
  return plain;
}

// A chance with the possibility that the observation itself was a slip.
function soften(c, chance) {
  return (1 - c.slip) * Math.min(Math.max(chance, 0), 1) + c.slip * 0.5;
}
