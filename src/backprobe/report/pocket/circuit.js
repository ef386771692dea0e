"use strict";
// A circuit in one setup: which branches conduct, the node volts, and the devices brought to rest.

// What the normal distribution leaves below x: a series of positive terms near the middle, a continued
// fraction in the tails (NIST Digital Library of Mathematical Functions, 7.6.2 and 7.9.1).
function below(x) {
  const z = Math.abs(x) / Math.SQRT2;
  if (z > 27) return x > 0 ? 1 : 0;
  const bell = Math.exp(-z * z) / Math.sqrt(Math.PI);
  if (z < 3) {
    let term = z, total = z;
    for (let k = 1; term > 1e-17 * total; k++) {
      term *= (z * z) / (k + 0.5);
      total += term;
    }
    return x > 0 ? 0.5 + bell * total : 0.5 - bell * total;
  }
  let deep = z;
  for (let k = 40; k >= 1; k--) deep = z + k / 2 / deep;
  const tail = (0.5 * bell) / deep;
  return x > 0 ? 1 - tail : tail;
}

// A net of conductances to be solved for several currents. Node by node a star is turned into the mesh
// that stands for it; only positive numbers are added, so no digits are lost where a node all but floats.
class Net {
  constructor(size) {
    this.size = size;
    this.mesh = new Float64Array(size * size); // conductance between two nodes left, above the diagonal
    this.ground = new Float64Array(size); // conductance to the datum
    this.whole = new Float64Array(size);
  }

  copy() {
    const other = new Net(0);
    Object.assign(other, { size: this.size, mesh: this.mesh.slice(), whole: this.whole.slice() });
    return other;
  }

  clear(leak) {
    this.mesh.fill(0);
    this.ground.fill(leak);
  }

  join(a, b, siemens) {
    if (a === b || siemens === 0) return;
    if (a < 0) this.ground[b] += siemens;
    else if (b < 0) this.ground[a] += siemens;
    else this.mesh[Math.min(a, b) * this.size + Math.max(a, b)] += siemens;
  }

  eliminate() {
    const n = this.size, w = this.mesh, g = this.ground;
    for (let k = 0; k < n; k++) {
      const near = [];
      let sum = g[k];
      for (let j = k + 1; j < n; j++) {
        if (w[k * n + j] !== 0) {
          near.push(j);
          sum += w[k * n + j];
        }
      }
      this.whole[k] = sum;
      for (let a = 0; a < near.length; a++) {
        const i = near[a], share = w[k * n + i] / sum;
        g[i] += share * g[k];
        for (let b = a + 1; b < near.length; b++) w[i * n + near[b]] += share * w[k * n + near[b]];
      }
    }
  }

  // Volts at every node for currents into the nodes.
  solve(currents) {
    const n = this.size, w = this.mesh, x = Float64Array.from(currents);
    for (let k = 0; k < n; k++) {
      if (x[k] === 0) continue;
      const f = x[k] / this.whole[k];
      for (let i = k + 1; i < n; i++) x[i] += f * w[k * n + i];
    }
    for (let k = n - 1; k >= 0; k--) {
      let sum = x[k];
      for (let j = k + 1; j < n; j++) sum += w[k * n + j] * x[j];
      x[k] = sum / this.whole[k];
    }
    return x;
  }
}

// One circuit of the tables, ready to be put into setups.
class Circuit {
  constructor(table, card) {
    this.t = table;
    this.card = card;
    this.c = card.constants;
    this.branches = table.from.length;
    this.nominal = Float64Array.from(table.nominal);
    this.net = new Net(table.nodes);
    this.stages = new Map();
  }

  stage(setup) {
    const key = setupKey(setup);
    if (!this.stages.has(key)) this.stages.set(key, this.makeStage(setup));
    return this.stages.get(key);
  }

  makeStage(setup) {
    const open = new Uint8Array(this.branches), gates = [];
    for (const [branch, kind, inverted, what, positions] of this.t.gates) {
      if (kind === "mode") gates.push([branch, what, inverted]);
      else if (kind === "position") open[branch] |= positions.includes(setup.state[what]) === inverted;
      else if (kind === "plugged") open[branch] |= setup.off.includes(what);
      else open[branch] |= !inverted; // nothing is held to a part on this card
    }
    const done = Object.keys(this.t.latches).filter((n) => setup.state[n] === this.t.set);
    let before = null;
    if (done.length) {
      const state = { ...setup.state, ...this.t.latches[done[done.length - 1]].before };
      before = this.makeStage({ state, off: setup.off });
    }
    return { circuit: this, setup, open, gates, before, limits: null };
  }

  // Volts, currents and conductances with the devices standing as in `modes`.
  electrical(stage, values, modes) {
    const t = this.t, n = t.nodes, m = this.branches;
    const siemens = new Float64Array(m), driven = new Float64Array(m);
    const on = new Uint8Array(m).fill(1);
    for (let b = 0; b < m; b++) if (stage.open[b]) on[b] = 0;
    for (const [b, device, inverted] of stage.gates) if (Boolean(modes[device]) === inverted) on[b] = 0;
    this.net.clear(this.c.leak);
    const into = new Float64Array(n);
    for (let b = 0; b < m; b++) {
      if (!on[b]) continue;
      siemens[b] = 1 / values[t.ohms[b]];
      if (t.emf[b] >= 0) driven[b] = siemens[b] * values[t.emf[b]] * t.sign[b];
      if (t.amps[b] >= 0) driven[b] += values[t.amps[b]];
      this.net.join(t.from[b], t.to[b], siemens[b]);
      if (t.from[b] >= 0) into[t.from[b]] -= driven[b];
      if (t.to[b] >= 0) into[t.to[b]] += driven[b];
    }
    this.net.eliminate();
    const volts = this.net.solve(into), currents = new Float64Array(m);
    for (let b = 0; b < m; b++) {
      currents[b] = siemens[b] * (at(volts, t.from[b]) - at(volts, t.to[b])) + driven[b];
    }
    return { stage, values, modes, volts, siemens, driven, currents, net: this.net };
  }

  // A solved circuit. `known` says how the devices stand, where that was settled beforehand.
  solve(stage, values, known) {
    if (known) {
      const found = this.electrical(stage, values, known.modes);
      found.chatters = known.chatters;
      return found;
    }
    const start = stage.before ? Array.from(this.solve(stage.before, values).modes) : null;
    return settle(this, stage, values, start);
  }

  // Volts across a winding, or what its current would need across a sound one if that is less.
  effective(e, branch) {
    const across = Math.abs(at(e.volts, this.t.from[branch]) - at(e.volts, this.t.to[branch]));
    const needed = Math.abs(e.currents[branch]) * this.nominal[this.t.ohms[branch]];
    return Math.min(across, needed * this.c.heat);
  }

  holds(rule, e, modes) {
    if (rule === null) return true;
    if (rule[0] === "not") return !this.holds(rule[1], e, modes);
    if (rule[0] === "and") return this.holds(rule[1], e, modes) && this.holds(rule[2], e, modes);
    if (rule[0] === "or") return this.holds(rule[1], e, modes) || this.holds(rule[2], e, modes);
    const [, subject, meaning] = rule;
    const entry = this.t.inputs[subject];
    if (!entry) {
      const latch = this.t.latches[subject];
      if (latch && latch.memory >= 0) return Boolean(modes[latch.memory]) === (meaning === this.t.set);
      return e.stage.setup.state[subject] === meaning;
    }
    const level = this.level(entry, e);
    const inside = entry.bands.some((b) => b.means === meaning && level >= b.low && level < b.high);
    return this.heard(entry, meaning, modes, inside);
  }

  level(entry, e) {
    return Math.max(at(e.volts, entry.node) - at(e.volts, entry.ground), 0);
  }

  heard(entry, meaning, modes, inside) {
    let known = inside;
    if (entry.quiet >= 0 && modes[entry.quiet]) {
      const tripped = entry.tripped >= 0 && modes[entry.tripped];
      const idle = entry.idle >= 0 && modes[entry.idle];
      known = meaning === "over-current" ? tripped : meaning === "open load" ? idle && !tripped : false;
    }
    return Boolean(known) && (entry.powered < 0 || Boolean(modes[entry.powered]));
  }
}

function at(volts, node) {
  return node < 0 ? 0 : volts[node];
}

function setupKey(setup) {
  const state = Object.keys(setup.state).sort().map((c) => `${c}=${setup.state[c]}`).join("|");
  return `${state}#${[...setup.off].sort().join("|")}`;
}
