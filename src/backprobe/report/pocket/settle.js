"use strict";
// Devices, controller logic and circuit are iterated until they agree; where they never do, it chatters.

const FAST = new Set(["junction", "limiter", "supplied"]);
const FAST_ROUNDS = 40, TOGETHER = 6, LOOK_BACK = 8;

// The round before `now` that round `late` repeats, in a circuit that is as it was in round `first`.
function repeated(late, first, now) {
  return first + ((late - first) % (now - first));
}

function settle(circuit, stage, values, start) {
  const devices = circuit.t.devices;
  let current = start || devices.map((d) => (d.is === "supplied" ? 1 : 0));
  const fast = [], slow = [];
  devices.forEach((d, i) => (FAST.has(d.is) ? fast : slow).push(i));
  const rounds = 4 + 2 * slow.length, trail = [];
  let e = null, restless = false, chatters = true;
  for (let now = 0; now < rounds; now++) {
    const first = trail.findIndex((s) => same(s, current));
    trail.push([...current]);
    if (first >= 0) {
      current = [...trail[repeated(rounds, first, now)]];
      break;
    }
    [e, restless] = settleFast(circuit, stage, values, current, fast);
    if (!slow.length) {
      chatters = false;
      break;
    }
    const wanted = wantedSlow(circuit, e, current, slow);
    const changed = slow.some((i, k) => wanted[k] !== current[i]);
    slow.forEach((i, k) => { current[i] = wanted[k]; });
    if (!changed) {
      chatters = false;
      break;
    }
  }
  if (chatters || restless) e = circuit.electrical(stage, values, current);
  e.modes = current;
  e.chatters = chatters || restless;
  return e;
}

function same(a, b) {
  for (let k = 0; k < a.length; k++) if (a[k] !== b[k]) return false;
  return true;
}

// Brings the fast devices to rest in `current`; gives the solved circuit, and whether some still flip.
function settleFast(circuit, stage, values, current, fast) {
  let e = circuit.electrical(stage, values, current), flipping = false, gone = false;
  const trail = [];
  if (!fast.length) return [e, false];
  for (let step = 0; step < FAST_ROUNDS; step++) {
    const have = fast.map((i) => current[i]);
    if (step >= TOGETHER) {
      const first = trail.findIndex((s) => same(s, have));
      trail.push(have);
      if (first >= 0) {
        const now = step - TOGETHER, end = FAST_ROUNDS - TOGETHER, late = [];
        for (let k = 0; k <= LOOK_BACK; k++) late.push(trail[repeated(end - k, first, now)]);
        fast.forEach((i, k) => { current[i] = late[0][k]; });
        for (let k = 0; k < LOOK_BACK; k++) if (!same(late[k], late[k + 1])) flipping = true;
        gone = true;
        break;
      }
    }
    let wanted = fast.map((i) => wantedFast(circuit, e, i, current[i]));
    if (same(wanted, have)) {
      flipping = false;
      break;
    }
    if (step >= TOGETHER) {
      const only = wanted.findIndex((w, k) => w !== have[k]);
      wanted = have.map((h, k) => (k === only ? wanted[k] : h));
    }
    fast.forEach((i, k) => { current[i] = wanted[k]; });
    e = circuit.electrical(stage, values, current);
    if (step >= FAST_ROUNDS - LOOK_BACK && !same(wanted, have)) flipping = true;
  }
  if (gone) e = circuit.electrical(stage, values, current);
  return [e, flipping];
}

function wantedFast(circuit, e, i, have) {
  const d = circuit.t.devices[i], t = circuit.t, v = e.values;
  if (d.is === "supplied") return at(e.volts, d.from) - at(e.volts, d.to) >= v[d.volts] ? 1 : 0;
  const across = at(e.volts, t.from[d.branch]) - at(e.volts, t.to[d.branch]);
  if (d.is === "junction") return (have ? e.currents[d.branch] > 0 : across > v[d.drop]) ? 1 : 0;
  return (have ? -across < v[d.volts] : e.currents[d.branch] > v[d.amps]) ? 1 : 0;
}

function wantedSlow(circuit, e, modes, slow) {
  const devices = circuit.t.devices, v = e.values;
  const powered = (d) => d.powered < 0 || Boolean(modes[d.powered]);
  const wanted = slow.map((i) => {
    const d = devices[i], have = Boolean(modes[i]);
    const through = d.branch === undefined ? 0 : Math.abs(e.currents[d.branch]);
    switch (d.is) {
      case "puller": {
        const volts = circuit.effective(e, d.branch);
        return (have ? volts > v[d.drop] : volts >= v[d.pull]) ? 1 : 0;
      }
      case "melter":
      case "tripper":
        return have || through > v[d.amps] ? 1 : 0;
      case "idle":
        return through < v[d.amps] ? 1 : 0;
      case "driven":
        return d.rules.some((rule) => circuit.holds(rule, e, modes)) && powered(d) ? 1 : 0;
      default: {
        const kept = have || circuit.holds(d.rules[0], e, modes);
        return kept && !circuit.holds(d.rules[1], e, modes) && powered(d) ? 1 : 0;
      }
    }
  });
  // A driver shuts down in microseconds: nothing melts in the step in which one does.
  if (slow.some((i, k) => devices[i].is === "tripper" && wanted[k] && !modes[i])) {
    slow.forEach((i, k) => { if (devices[i].is === "melter") wanted[k] = modes[i]; });
  }
  return wanted;
}
