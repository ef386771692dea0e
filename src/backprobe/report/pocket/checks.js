"use strict";
// What to measure next: expected information about the cause for each minute, over all reachable points.

// An answer, ready to predict what further checks would show.
class Scene {
  constructor(answer, all) {
    this.answer = answer;
    this.build = answer.build;
    this.c = this.build.c;
    this.card = this.build.card;
    this.all = all;
    const names = (e) => (e.label === undefined ? "as built" : this.build.modes[e.label].name);
    const byLabel = new Map();
    for (const e of heaviest(this.c, answer.found, (x) => x.share)) {
      if (!byLabel.has(names(e))) byLabel.set(names(e), []);
      byLabel.get(names(e)).push(e);
    }
    const causes = [...byLabel].map(([name, es]) => ({ name, es, share: sum(es.map((e) => e.share)) }));
    const whole = heaviest(this.c, causes, (x) => x.share);
    this.kept = [];
    for (const { name, es, share } of whole.slice(0, this.c.most)) {
      if (share < this.c.leastShare * whole[0].share) break;
      const chosen = es.slice(0, Math.max(this.c.each, Math.floor(this.c.most / whole.length)));
      const scale = share / sum(chosen.map((e) => e.share));
      for (const e of chosen) this.kept.push({ e, name, weight: e.share * scale });
    }
    const total = sum(this.kept.map((k) => k.weight));
    this.kept.forEach((k) => { k.weight /= total; });
    this.labels = [...new Set(this.kept.map((k) => k.name))];
    this.kept.forEach((k) => { k.label = this.labels.indexOf(k.name); });
    this.share = this.labels.map((_, i) => sum(this.kept.filter((k) => k.label === i).map((k) => k.weight)));
    const placed = all.filter(isPlaced);
    this.last = placed.length ? setupOf(placed[placed.length - 1]) : candidateSetups(this.card, all)[0];
    const clipped = all.filter((r) => r.blackTerminal);
    // Where the black lead is still clipped; empty while nothing was measured.
    this.black = clipped.length ? clipped[clipped.length - 1].blackTerminal : "";
    this.taken = new Set(answer.readings.numbers.map((r) => takenKey(r.kind, r, r.redTerminal, r.blackTerminal)));
    this.solved = new Map();
  }

  solutions(setup) {
    const key = setupKey(setup);
    if (!this.solved.has(key)) {
      const circuit = this.build.circuit, stage = circuit.stage(setup);
      this.solved.set(key, this.kept.map(({ e }) => {
        const found = circuit.solve(stage, e.values, null);
        return { ...found, net: found.net.copy() };
      }));
    }
    return this.solved.get(key);
  }

  // Mutual information of cause and outcome, in bits; `mass` is explanation by outcome.
  information(mass) {
    const outcomes = mass[0].length, joint = this.labels.map(() => new Float64Array(outcomes));
    this.kept.forEach((k, i) => {
      for (let o = 0; o < outcomes; o++) joint[k.label][o] += k.weight * mass[i][o];
    });
    const label = joint.map((row) => row.reduce((a, b) => a + b, 0));
    let bits = 0;
    for (let o = 0; o < outcomes; o++) {
      const whole = sum(joint.map((row) => row[o]));
      joint.forEach((row, i) => {
        if (row[o] > 1e-15) bits += row[o] * Math.log2(row[o] / (label[i] * whole));
      });
    }
    return Math.max(0, bits);
  }

  // The checks most worth doing, best first, of each kind and setup one before the rest.
  best(count) {
    const glances = this.different(candidateSetups(this.card, this.all)).flatMap((s) => this.screen(s));
    const checks = [...this.worthJudging(heaviest(this.c, glances, (x) => x.worth), count), ...this.byEye()];
    const told = checks.filter((x) => x.bits > 1e-3).map((x) => ({ ...x, words: checkWords(x) }));
    told.sort((a, b) => (a.words < b.words ? -1 : 1));
    const first = new Map(), rest = [];
    for (const check of heaviest(this.c, told, (x) => x.bits / x.minutes)) {
      const key = `${check.kind}~${setupKey(check.setup)}~${check.part}`;
      if (first.has(key)) rest.push(check);
      else first.set(key, check);
    }
    return [...first.values(), ...rest].slice(0, count).map((x) => ({
      ...x, cautions: cautionsOf(this.card, x, this.last),
    }));
  }

  // The setups without those that leave the circuit as another does: the quickest to reach of each.
  different(setups) {
    const timed = setups.map((s) => [changeMinutes(this.card, this.last, s), s]).sort((a, b) => a[0] - b[0]);
    const kept = new Map();
    for (const [, setup] of timed) {
      const told = this.card.heard.map((c) => setup.state[c]);
      const key = `${this.build.circuit.stage(setup).open.join("")}~${told}~${setup.off}`;
      if (!kept.has(key)) kept.set(key, setup);
    }
    return [...kept.values()];
  }

  node(point) {
    return point.nodes[this.build.number];
  }

  // Judged setup by setup, the most promising first, while they may still come to the fore.
  worthJudging(glances, count) {
    const best = [], checks = [], passed = [];
    for (const glance of glances) {
      const low = best.length >= count ? [...best].sort((a, b) => b - a)[count - 1] : 0;
      if (this.c.sure * glance.worth <= low) break;
      let most = 0;
      for (const one of heaviest(this.c, this.lookedAt(glance.checks), (x) => x.worth)) {
        if (this.c.sure * one.worth <= Math.max(most, low)) {
          passed.push(one);
          continue;
        }
        const judged = this.judge(one);
        checks.push(judged);
        most = Math.max(most, (Math.LN2 * judged.bits) / one.check.minutes);
      }
      best.push(most);
    }
    const rest = heaviest(this.c, passed, (x) => x.worth).slice(0, Math.max(0, count - checks.length));
    return checks.concat(rest.map((one) => this.judge(one)));
  }

  screen(setup) {
    const c = this.c, card = this.card, placing = ([red, black]) => pairMinutes(c, red, black);
    const pairs = pairsOf(pointsIn(card, setup.off)).sort((a, b) => placing(a) - placing(b));
    const quick = [...pairs].sort((a, b) => this.placing(...a) - this.placing(...b));
    const found = this.solutions(setup), change = changeMinutes(card, this.last, setup);
    const known = new Map(), groups = new Map();
    // Points that no suspect tells apart by volts are one group.
    const group = (point) => {
      const node = this.node(point);
      if (!groups.has(node)) {
        const key = found.map((e) => Math.round(at(e.volts, node) / c.alike)).join();
        if (!known.has(key)) known.set(key, known.size);
        groups.set(node, known.get(key));
      }
      return groups.get(node);
    };
    const taken = (kind, [red, black]) => this.taken.has(takenKey(kind, setup, red.terminal, black.terminal));
    const quickest = new Map();
    for (const pair of quick) {
      const [a, b] = [group(pair[0]), group(pair[1])].sort((x, y) => x - y);
      if (a !== b && !taken("volts", pair) && !quickest.has(`${a}~${b}`)) quickest.set(`${a}~${b}`, pair);
    }
    const scored = [...quickest.values()].map(([red, black]) => {
      const volts = this.between(found, red, black);
      const blur = volts.map((v) => ((c.gain.volts / 1.7) * Math.abs(v)) ** 2 + c.digits ** 2 + 4e-4);
      const minutes = change + this.placing(red, black);
      const score = this.spreadScore(volts, blur) / minutes;
      return { score, check: { kind: "volts", setup, red, black, part: "", minutes } };
    });
    const volts = this.shortest(scored);
    const rest = setupKey({ state: setup.state, off: [] }) === setupKey(restSetup(card));
    if (!setup.off.length || !rest) return volts;
    const dead = pairs.filter((pair) => (pair[0].side || pair[1].side) && !taken("ohms", pair) &&
      this.between(found, ...pair).every((v) => Math.abs(v) < c.live));
    return volts.concat(this.screenOhms(setup, dead, change));
  }

  // Time to place both leads, the black one where it is still clipped.
  placing(red, black) {
    return pairMinutes(this.c, red, black) + (this.black && black.terminal !== this.black ? this.c.black : 0);
  }

  between(found, red, black) {
    return found.map((e) => at(e.volts, this.node(red)) - at(e.volts, this.node(black)));
  }

  // Candidates with what they would show, the widths of the suspects included.
  lookedAt(checks) {
    return checks.map((check) => {
      const { mean, sd } = this.moments(check);
      return { check, mean, sd, worth: this.spreadScore(mean, sd.map((x) => x * x), true) / check.minutes };
    }).filter((x) => x.worth * x.check.minutes > this.c.still);
  }

  screenOhms(setup, pairs, change) {
    const c = this.c, found = this.solutions(setup);
    const nodes = [...new Set(pairs.flat().map((p) => this.node(p)))].filter((n) => n >= 0);
    const seen = found.map((e) => new Map(nodes.map((n) => {
      const into = new Float64Array(e.volts.length);
      into[n] = 1;
      return [n, e.net.solve(into)];
    })));
    const z = (k, a, b) => (a < 0 || b < 0 ? 0 : seen[k].get(a)[b]);
    const scored = pairs.map(([red, black]) => {
      const a = this.node(red), b = this.node(black);
      const ohms = found.map((_, k) => z(k, a, a) + z(k, b, b) - 2 * z(k, a, b));
      const logs = ohms.map((x) => Math.log(Math.min(Math.max(x + 0.25, 1e-2), 3e7)));
      const blur = ohms.map((x) => 0.01 + (0.3 / Math.max(x, 0.3)) ** 2);
      const minutes = change + c.ohmsExtra + this.placing(red, black);
      const score = this.spreadScore(logs, blur) / minutes;
      return { score, check: { kind: "ohms", setup, red, black, part: "", minutes } };
    });
    return this.shortest(scored);
  }

  // A glance at one setup: the best few, and what the best of them may tell.
  shortest(scored) {
    const few = heaviest(this.c, scored, (x) => x.score).slice(0, this.c.eachSetup).filter((x) => x.score > 0);
    return few.length ? [{ worth: few[0].score, checks: few.map((x) => x.check) }] : [];
  }

  // Quick measure of the information in a check: how far the causes lie apart against what blurs them.
  spreadScore(mean, variance, widths) {
    const n = this.labels.length, centre = new Float64Array(n), square = new Float64Array(n);
    this.kept.forEach((k, i) => {
      const part = k.weight / this.share[k.label];
      centre[k.label] += part * mean[i];
      square[k.label] += part * (variance[i] + mean[i] ** 2);
    });
    let score = 0;
    for (let i = 0; i < n; i++) {
      let mixed = 0;
      for (let j = 0; j < n; j++) {
        const width = square[i] - centre[i] ** 2 + square[j] - centre[j] ** 2;
        let alike = Math.exp(-((centre[i] - centre[j]) ** 2) / (4 * width));
        if (widths) alike *= Math.sqrt((2 * Math.sqrt((square[i] - centre[i] ** 2) * (square[j] - centre[j] ** 2))) / width);
        mixed += this.share[j] * alike;
      }
      score -= this.share[i] * Math.log(mixed);
    }
    return score;
  }

  judge({ check, mean, sd }) {
    const low = Math.min(...mean.map((m, i) => m - 3 * sd[i]));
    const high = Math.max(...mean.map((m, i) => m + 3 * sd[i])), half = this.c.bins, edges = [];
    // Quantiles of the mixture keep the bins where the outcomes are, however uneven.
    for (let k = 0; k < half; k++) edges.push(low + ((high - low) * k) / (half - 1));
    mean.forEach((m, i) => { for (let k = -3; k <= 3; k++) edges.push(m + sd[i] * k); });
    const grid = [...new Set(edges)].sort((a, b) => a - b);
    const mass = mean.map((m, i) => {
      const under = grid.map((x) => below((x - m) / sd[i]));
      return under.slice(1).map((u, k) => u - under[k]);
    });
    return { ...check, bits: this.information(mass), outcomes: this.zones(check.kind, mean, sd) };
  }

  // Mean and spread of what a check shows under each explanation, given what is pinned down already.
  moments(check) {
    const c = this.c, found = this.solutions(check.setup), b = this.build.number;
    const nodes = [];
    nodes[b] = [this.node(check.red), this.node(check.black)];
    const predicted = found.map((e) => predictNumber(e, { kind: check.kind, nodes, zeroed: false }, b));
    const mean = predicted.map((p) => (check.kind === "ohms" ?
      Math.min(Math.max(p.mean, Math.log(0.1)), Math.log(3e7)) : p.mean));
    // Ghost volts come and go: that a point is quiet must not count as news against one that floats.
    const believed = predicted.filter((_, i) => this.kept[i].weight > c.leastShare);
    const ghost = Math.max(0, ...believed.map((p) => Math.min(p.extra, c.ghost ** 2)));
    const sd = predicted.map((p, i) => {
      const { e } = this.kept[i], scaled = p.loading.map((x, k) => x * e.spread[k] ** 2);
      let variance = dot(scaled, p.loading);
      const cross = e.loading.map((row) => dot(row, scaled)), n = cross.length;
      for (let r = 0; r < n; r++) for (let s = 0; s < n; s++) variance -= cross[r] * e.inverse[r * n + s] * cross[s];
      const own = check.kind === "ohms" ?
        c.gain.ohms ** 2 / 3 + (0.3 / Math.max(Math.exp(mean[i]), 0.3)) ** 2 :
        (c.gain.volts * mean[i]) ** 2 / 3 + c.digits ** 2;
      return Math.sqrt(Math.max(variance, 0) + own + Math.max(p.extra, ghost));
    });
    return { mean, sd };
  }

  // Explanations whose predictions overlap, as zones along the value axis.
  zones(kind, mean, sd) {
    const low = mean.map((m, i) => m - 2 * sd[i]), high = mean.map((m, i) => m + 2 * sd[i]);
    let zones = [];
    for (const e of sd.map((s, i) => i).sort((a, b) => sd[a] - sd[b])) {
      const near = zones.filter((zone) => zone.some((k) =>
        low[e] <= high[k] && low[k] <= high[e] && sd[e] < this.c.wide * sd[k]));
      zones = zones.filter((zone) => !near.includes(zone));
      zones.push([e, ...near.flat()]);
    }
    const rail = 1.05 * this.card.volts + 2;
    return zones.map((zone) => {
      let least = Math.min(...zone.map((k) => low[k])), most = Math.max(...zone.map((k) => high[k]));
      if (kind === "ohms") [least, most] = [Math.exp(least), Math.exp(most)];
      else {
        const lowest = Math.min(...zone.map((k) => mean[k]));
        least = Math.max(least, Math.min(lowest, -0.02 * rail), -rail);
        most = Math.min(most, rail);
      }
      return { low: least, high: most, ...this.meaning(zone.map((k) => [k, 1])) };
    }).sort((a, b) => b.chance - a.chance);
  }

  // Causes behind an outcome, most probable first, with its chance.
  meaning(parts) {
    const chance = new Map();
    for (const [k, p] of parts) {
      const { name, weight } = this.kept[k];
      chance.set(name, (chance.get(name) || 0) + weight * p);
    }
    const means = [...chance].sort((a, b) => b[1] - a[1]).map(([name]) => name);
    return { means, chance: sum([...chance.values()]) };
  }

  // Looking at each suspect part.
  byEye() {
    const build = this.build, c = this.c;
    const parts = new Set(this.answer.suspects.slice(0, 12).map((s) => build.modes[s.mode].part));
    const checks = [];
    for (const part of [...parts].sort()) {
      if (this.answer.readings.others.some((r) => (r.kind === "looked" || r.kind === "fuse") && r.subject === part)) continue;
      const modeOf = ({ e }) => (e.mode < 0 ? null : build.modes[e.mode]);
      const mine = this.kept.map((k) => modeOf(k) !== null && modeOf(k).part === part);
      const shows = this.kept.filter((_, i) => mine[i]).map((k) => modeOf(k).eye);
      if (!shows.length) continue;
      const seen = Math.max(...shows);
      // What is hidden inside is not looked for: a bad look would be chance.
      if (seen <= c.falseSign) continue;
      const bad = mine.map((m) => (m ? seen : c.falseSign)), chance = sum(bad.map((p, i) => p * this.kept[i].weight));
      const named = (own) => this.meaning(mine.map((m, i) => [i, m === own ? 1 : 0])).means.filter((name) =>
        this.kept.some((k, i) => mine[i] === own && k.name === name));
      checks.push({
        kind: "looked", setup: this.last, red: null, black: null, part,
        minutes: c.look + this.card.parts[part].minutes,
        bits: this.information(bad.map((p) => [p, 1 - p])),
        outcomes: [
          { shows: "looks bad", means: named(true), chance },
          { shows: "looks fine", means: named(false), chance: 1 - chance },
        ],
      });
    }
    return checks;
  }
}

// A check in one line, by which checks that are worth the same are put in order.
function checkWords({ kind, red, black, part, setup }) {
  const what = kind === "looked" ? `look at ${part}` : `${kind} from ${red.name} (red) to ${black.name} (black)`;
  const state = sorted(setup.state).map(([c, p]) => `${c} ${p}`);
  return `${what}; ${[...state, ...setup.off.map((n) => `${n} unplugged`)].join(", ") || "as it stands"}`;
}

function takenKey(kind, setup, red, black) {
  return `${kind}~${red}~${black}~${setupKey(setup)}`;
}
