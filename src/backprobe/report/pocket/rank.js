"use strict";
// The answer of one build: likeliest single faults, what a repair would cure, what looks alike.

const SOUND = -1;
const PINNED = 100; // ratio of the ends of an interval above which a resistance is not pinned down
const OPEN_OHMS = 1e6; // above this the name of the fault says enough: it is open

// The heaviest (row, column) within the window: the best cell of every mode before second cells.
function leading(build, weights, columns, best, most, keep) {
  const c = build.c, every = [];
  weights.forEach((of, row) => columns(of).forEach((w, column) => every.push([w, row, column])));
  const flat = heaviest(c, every, ([w]) => w);
  const taken = new Map(), ranked = [];
  const severity = (row) => Math.log(Math.max(build.t.value[row][0] || 0, 1e-6));
  for (let place = 0; place < flat.length; place++) {
    const [w, row, column] = flat[place];
    if (place >= c.least && w < best - c.window) break;
    const key = `${build.modeOf[row]},${column}`, mine = taken.get(key) || [];
    taken.set(key, mine);
    // Cells nearer to each other than this converge to one state: no second one of those.
    if (mine.length < most && mine.every((m) => Math.abs(severity(row) - severity(m)) > c.apart)) {
      mine.push(row);
      ranked.push([mine.length, place, row, column]);
    }
  }
  ranked.sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  return ranked.slice(0, keep).map(([, , row, column]) => [row, column]);
}

// Rows to polish, each with the reading it takes for a slip (-1 for none).
function choose(build, { plain, slipped }, most, keep) {
  const best = Math.max(...plain), over = Math.max(best, ...slipped.flat());
  const taken = leading(build, plain, (w) => [w], best, most, keep).map(([row]) => [row, -1]);
  if (!slipped[0].length) return taken;
  return taken.concat(leading(build, slipped, (w) => w, over, 1, Math.floor(keep / 2)));
}

// Log factor that gives each chosen row the weight of its mode's cells that were not chosen.
function leftOut(build, { plain, slipped }, taken) {
  const weightOf = (row, slip) => (slip < 0 ? plain[row] : slipped[row][slip]);
  return taken.map(([row, slip]) => {
    const mode = build.modeOf[row], cells = mode < 0 ? [0] : build.rowsOf[mode];
    const mine = taken.filter(([r, s]) => s === slip && build.modeOf[r] === mode);
    const bonus = logSum(cells.map((r) => weightOf(r, slip))) - logSum(mine.map(([r, s]) => weightOf(r, s)));
    return Math.min(Math.max(bonus, 0), Math.log(cells.length));
  });
}

// Best first; cells of one fault with one slip that met in one state are counted together.
function distinct(c, build, found) {
  const kept = [], log = build.circuit.t.logarithmic;
  const met = (a, b) => build.t.index[a.row].every((k) =>
    k < 0 || !log[k] || Math.abs(Math.log(a.values[k] / b.values[k])) < c.met);
  for (const e of heaviest(c, found, (x) => x.weight)) {
    const first = kept.find((k) => k.e.mode === e.mode && k.e.slip === e.slip && met(e, k.e));
    if (first) first.total = logSum([first.total, e.weight]);
    else kept.push({ e, total: e.weight });
  }
  return heaviest(c, kept.map(({ e, total }) => ({ ...e, weight: total })), (x) => x.weight);
}

// Whether the best explanation leaves nothing over: no reading stands out, nothing seen surprises.
function explained(c, found) {
  const e = found.reduce((a, b) => (b.weight > a.weight ? b : a));
  return e.slip < 0 && e.misfit.every((m) => Math.abs(m) < c.fits) && e.chance.every((p) => p > c.expected);
}

// All single faults worth showing, polished; `more` where they leave something over.
function search(build, readings, single) {
  const c = build.c, numbers = readings.numbers.length;
  const weights = build.singleWeights(readings, single, false);
  const [most, keep] = numbers ? [c.cells, c.keep] : [1, c.keepWords];
  const taken = choose(build, weights, most, keep), bonus = leftOut(build, weights, taken);
  const weighed = (rows, extra) => distinct(c, build, rows.map(([row, slip], k) =>
    build.weigh(readings, single, row, slip, extra ? extra[k] : 0)));
  let found = weighed(taken, bonus);
  if (numbers && !explained(c, found)) {
    const coarse = build.singleWeights(readings, single, true);
    const counted = new Set(taken.map(([row, slip]) => `${build.modeOf[row]},${slip}`));
    const added = choose(build, coarse, 1, Math.floor(keep / 2))
      .filter(([row, slip]) => !counted.has(`${build.modeOf[row]},${slip}`));
    if (added.length) found = distinct(c, build, [...found, ...weighed(added, null)]);
  }
  return { found, more: !explained(c, found) };
}

// The answer of one build.
function rankBuild(build, readings) {
  const c = build.c, single = build.singles(readings);
  const { found, more } = search(build, readings, single);
  const best = Math.max(...found.map((e) => e.weight)), peak = Math.max(best, readings.logNone);
  const total = sum(found.map((e) => Math.exp(e.weight - peak)));
  const none = Math.max(Math.exp(readings.logNone - peak), 1e-300);
  const noneShare = Math.min(Math.max(c.noneFloor, none / (none + total)), c.noneCeiling);
  const relative = sum(found.map((e) => Math.exp(e.weight - best)));
  for (const e of found) e.share = (Math.exp(e.weight - best) / relative) * (1 - noneShare);
  const cure = cures(build, readings, found), alike = alikeJoints(build, readings, single);
  const alikeNow = shareAmongAlike(build, readings, found, { cure, alike, single }, noneShare);
  const named = [...cure.entries()].filter(([, x]) => x.chance > c.shown).map(([mode, x]) => ({
    mode, name: build.modes[mode].name, probability: x.chance, best: x.best,
    family: build.modes[mode].family, repair: build.modes[mode].repair, minutes: build.modes[mode].minutes,
  }));
  named.sort((a, b) => (a.name < b.name ? -1 : 1));
  const suspects = heaviest(c, named, (s) => s.probability);
  const sound = found.find((e) => e.mode === SOUND && e.slip < 0);
  return {
    build, readings, found, more, none: noneShare, suspects, asMade: single.numbers.map((p) => p[0].mean),
    groups: groupsOf(build, readings, suspects, alikeNow),
    asBuilt: sum(found.filter((e) => e.mode === SOUND).map((e) => e.share)),
    fits: Boolean(sound) && sound.misfit.every((m) => Math.abs(m) < c.fits) &&
      sound.chance.every((p) => p > c.expected),
    slips: readings.numbers.map((_, i) => sum(found.filter((e) => e.slip === i).map((e) => e.share))),
    logEvidence: logSum([...found.map((e) => e.weight), readings.logNone]),
  };
}

// What repairing each fault would cure, by trying it; without a complaint a fault is the cause itself.
function cures(build, readings, found) {
  const c = build.c, cure = new Map();
  const dead = readings.others.filter((r) => r.kind === "works" && r.seen === "dead");
  const works = (values) => Math.min(1, ...dead.map((r) =>
    functionWorks(build.circuit.solve(build.circuit.stage(setupOf(r)), values, null), r.subject)));
  for (const e of found) {
    if (e.mode === SOUND || !(e.share > c.negligible)) continue;
    let restores = 1;
    if (dead.length) {
      const repaired = Float64Array.from(e.values);
      for (const k of build.t.index[e.row]) if (k >= 0) repaired[k] = build.circuit.nominal[k];
      // It is dead: what may as well have worked with these volts has its own threshold above them.
      const before = works(e.values);
      restores = Math.max(0, works(repaired) - before) / Math.max(1 - before, build.c.leastDead);
    }
    const gained = e.share * restores, mine = cure.get(e.mode) || { chance: 0, most: -1, best: e };
    mine.chance += gained;
    if (gained > mine.most) Object.assign(mine, { most: gained, best: e });
    cure.set(e.mode, mine);
    e.label = e.mode;
  }
  return cure;
}

// For each joint that can be worn, the joints whose wear would show the same on every number.
function alikeJoints(build, readings, single) {
  const c = build.c, joints = build.modes.map((m, k) => (m.wear ? k : -1)).filter((k) => k >= 0);
  const found = new Map();
  if (!readings.numbers.length) {
    joints.forEach((m) => found.set(m, [m]));
    return found;
  }
  const shifts = joints.map((m) => shiftsOf(build, readings, single, m, c.mild));
  const moved = shifts.map((s) => Math.max(...s.map(Math.abs)) > c.moved);
  joints.forEach((m, a) => {
    const same = (b) => moved[a] === moved[b] && shifts[a].every((x, i) =>
      Math.abs(shifts[b][i] - x) < c.sameSpreads + 0.05 * Math.abs(x));
    found.set(m, joints.filter((_, b) => same(b)));
  });
  return found;
}

// A cause is shared among the joints that no reading tells apart, by how often each is met.
function shareAmongAlike(build, readings, found, { cure, alike, single }, noneShare) {
  const now = new Map();
  let left = heaviest(build.c, [...cure.keys()], (m) => cure.get(m).chance);
  while (left.length) {
    const mode = left.shift(), others = (alike.get(mode) || []).filter((m) => left.includes(m));
    if (!others.length) continue;
    // As bad as it is: a little worn they may look alike, and badly worn they are told apart.
    const ohms = cure.get(mode).best.values[build.t.index[build.rowsOf[mode][0]][0]];
    const members = [mode, ...alikeAt(build, readings, single, mode, others, ohms)];
    if (members.length < 2) continue;
    members.forEach((m) => now.set(m, members));
    left = left.filter((m) => !members.includes(m));
    const total = sum(members.map((m) => cure.get(m).chance));
    const rate = members.map((m) => priorOf(build, m) * byEye(build, readings, m)), rates = sum(rate);
    const held = members.map((m) => sum(found.filter((e) => e.label === m).map((e) => e.share)));
    const whole = sum(held);
    members.forEach((m, k) => {
      cure.get(m).chance = (total * rate[k]) / rates;
      if (held[k] > 0) {
        found.forEach((e) => { if (e.label === m) e.share *= (whole * rate[k]) / rates / held[k]; });
      }
    });
  }
  const all = sum(found.map((e) => e.share));
  for (const e of found) e.share *= (1 - noneShare) / all;
  return now;
}

// Those of some joints that would show on every number what one shows with so many ohms.
function alikeAt(build, readings, single, mode, others, ohms) {
  if (!readings.numbers.length) return others;
  const c = build.c, mine = shiftsOf(build, readings, single, mode, ohms);
  return others.filter((m) => shiftsOf(build, readings, single, m, ohms).every((x, i) =>
    Math.abs(x - mine[i]) < c.sameSpreads + 0.05 * Math.abs(mine[i])));
}

// What a joint with about so many ohms moves each number by, in spreads of the meter.
function shiftsOf(build, readings, single, mode, ohms) {
  const far = (row) => Math.abs(Math.log(build.t.value[row][0] / ohms)), n = readings.numbers.length;
  const row = build.rowsOf[mode].reduce((a, b) => (far(b) < far(a) ? b : a));
  return single.numbers.map((p, i) => (p[row].mean - p[0].mean) / Math.sqrt(readings.noise[i * n + i]));
}

function priorOf(build, mode) {
  return sum(build.rowsOf[mode].map((row) => Math.exp(build.logPrior[row])));
}

function byEye(build, readings, mode) {
  return readings.others.filter((r) => r.kind === "looked" || r.kind === "swapped").reduce(
    (p, r) => p * soften(build.c, chanceOfFault(build.c, r, build.modes[mode], 1)), 1);
}

// Suspects whose best explanations say the same of every reading.
function groupsOf(build, readings, suspects, alike) {
  const c = build.c, n = readings.numbers.length, groups = [];
  const spread = readings.numbers.map((_, i) => Math.sqrt(readings.noise[i * n + i]));
  const fit = (e) => sum(e.chance.map(Math.log)) - 0.5 * sum(e.residual.map((x, i) =>
    (i === e.slip ? 0 : (x / spread[i]) ** 2)));
  const looksLike = (a, b) => a !== b && a.slip === b.slip && Math.abs(fit(a) - fit(b)) <= c.alikeLog &&
    a.predicted.every((x, i) => Math.abs(x - b.predicted[i]) <= c.alikeSpreads * spread[i]);
  for (const s of suspects) {
    const home = groups.find((g) =>
      (alike.get(g[0].mode) || []).includes(s.mode) || looksLike(s.best, g[0].best));
    if (home) home.push(s);
    else groups.push([s]);
  }
  const whole = groups.map((g) => ({ suspects: g, probability: Math.min(1, sum(g.map((s) => s.probability))) }));
  return heaviest(c, whole, (g) => g.probability);
}

// 90 % interval of a fault's resistance over the explanations that hold it; null where it is not pinned down.
function severityOf(answer, mode) {
  const m = answer.build.modes[mode];
  if (!(m.spread > 0) || !answer.readings.numbers.length) return null;
  let total = 0, mean = 0, square = 0;
  for (const e of answer.found.filter((x) => x.mode === mode)) {
    const centre = Math.log(e.values[m.ohms]), own = e.spread[m.ohms] ** 2;
    const cross = e.loading.map((row) => row[m.ohms] * own), n = cross.length;
    let variance = own;
    for (let r = 0; r < n; r++) for (let s = 0; s < n; s++) variance -= cross[r] * e.inverse[r * n + s] * cross[s];
    total += e.share;
    mean += e.share * centre;
    square += e.share * (centre ** 2 + Math.max(variance, 0));
  }
  if (!(total > 0)) return null;
  mean /= total;
  const half = 1.645 * Math.sqrt(Math.max(square / total - mean ** 2, 0));
  const [low, best, high] = [mean - half, mean, mean + half].map(Math.exp);
  return high > PINNED * low || best > OPEN_OHMS ? null : { low, best, high };
}
