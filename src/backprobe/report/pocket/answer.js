"use strict";
// The whole answer: all builds of the sheet together, controllers held back, and what to do next.

// A card, ready: one `Build` for each build that the sheet leaves open.
class Pocket {
  constructor(card) {
    this.card = card;
    this.builds = card.builds.map((_, number) => new Build(card, number));
    this.point = new Map(card.points.map((p) => [p.name, p]));
  }

  // A reading as the page keeps it, with its nodes; the number as it was written gives its width.
  ready(line) {
    const r = { subject: "", seen: "", zeroed: false, ...line, over: line.value === "OL", unsteady: line.value === "unsteady" };
    r.off = [...line.off].sort();
    if (isNumber(r)) {
      const [red, black] = [this.point.get(r.red), this.point.get(r.black)];
      Object.assign(r, { redTerminal: red.terminal, blackTerminal: black.terminal });
      r.nodes = this.builds.map((_, b) => [red.nodes[b], black.nodes[b]]);
      Object.assign(r, r.over || r.unsteady ? { value: 0, half: 0, digit: 0 } : written(line.value, line.unit));
    }
    return r;
  }

  // What the readings say. `lines` are readings as the page keeps them.
  rank(lines) {
    const all = lines.map((line) => this.ready(line));
    const readings = new Readings(this.card, all);
    const answers = this.builds.map((b) => rankBuild(b, readings));
    const prior = answers.map((a, k) => (this.card.shares.length ? Math.log(this.card.shares[k][1]) : 0));
    const weight = answers.map((a, k) => prior[k] + (all.length ? a.logEvidence : 0)), total = logSum(weight);
    const mixed = answers.map((a, k) => ({ answer: a, share: Math.exp(weight[k] - total), number: k }));
    mixed.sort((a, b) => b.share - a.share);
    const first = mixed[0].answer, over = (get) => sum(mixed.map((m) => m.share * get(m.answer)));
    const chance = new Map();
    for (const m of mixed) {
      for (const s of m.answer.suspects) chance.set(s.name, (chance.get(s.name) || 0) + m.share * s.probability);
    }
    const groups = mixed.length > 1 ? mixedGroups(mixed, chance) : first.groups;
    const missing = new Map(groups.flatMap((g) => g.suspects).map((s) => [s.name, missingProof(first.build, all, s.mode)]));
    for (const g of groups) {
      const held = (s) => missing.get(s.name).length > 0;
      g.suspects.sort((a, b) => held(a) - held(b));
      g.held = g.suspects.every(held);
    }
    groups.sort((a, b) => a.held - b.held);
    const none = over((a) => a.none), asBuilt = over((a) => a.asBuilt);
    const firm = Math.max(0, ...groups.map((g) => g.probability));
    const likeliest = Math.max(0, ...groups.flatMap((g) => g.suspects.map((s) => s.probability)));
    return {
      all, readings, first, groups, missing, none, asBuilt, slips: first.slips,
      builds: mixed.map((m) => ({ choices: this.card.shares.length ? this.card.shares[m.number][0] : {}, share: m.share })),
      // The laptop goes on to several faults at once where single ones leave something over.
      laptop: all.length > 0 && (first.more || none > firm),
      sound: asBuilt > likeliest || (first.fits && asBuilt > this.card.constants.nearly * likeliest),
    };
  }

  // The checks most worth doing after an answer; what a controller that would lead still lacks comes first.
  next(answer, count) {
    const scene = new Scene(answer.first, answer.all), checks = scene.best(count);
    const suspects = answer.groups.flatMap((g) => g.suspects), lacks = (s) => answer.missing.get(s.name);
    const free = Math.max(0, ...suspects.filter((s) => !lacks(s).length).map((s) => s.probability));
    const asked = new Map();
    for (const s of suspects.filter((x) => lacks(x).length && x.probability >= free)) {
      for (const { check } of lacks(s)) if (check) asked.set(check.proves, check);
    }
    const proofs = [...asked.values()].map((x) => {
      const minutes = x.minutes, judged = scene.judge(x);
      return { ...judged, minutes, cautions: cautionsOf(this.card, x, scene.last) };
    });
    const key = (x) => `${x.kind}~${setupKey(x.setup)}~${x.red && x.red.name}~${x.black && x.black.name}~${x.part}`;
    const known = new Set(proofs.map(key));
    return [...proofs, ...checks.filter((x) => !known.has(key(x)))].slice(0, count);
  }
}

// Groups of the likeliest build first, then those of the others, with the chances of all builds together.
function mixedGroups(mixed, chance) {
  const placed = new Set(), groups = [], first = mixed[0].answer.build;
  for (const m of mixed) {
    for (const g of m.answer.groups) {
      const fresh = g.suspects.filter((s) => !placed.has(s.name) && chance.get(s.name) > first.c.shown)
        .map((s) => ({ ...s, mode: first.modes.findIndex((x) => x.name === s.name), probability: chance.get(s.name) }))
        .filter((s) => s.mode >= 0);
      fresh.forEach((s) => placed.add(s.name));
      if (!fresh.length) continue;
      fresh.sort((a, b) => b.probability - a.probability);
      groups.push({ suspects: fresh, probability: Math.min(1, sum(fresh.map((s) => s.probability))) });
    }
  }
  return groups.sort((a, b) => b.probability - a.probability);
}

const SCALE = { V: 0, mV: -3, mohm: -3, ohm: 0, kohm: 3, Mohm: 6 };

// A number as it was written: its value, half the interval that its digits leave open, one unit of its last digit.
function written(text, unit) {
  const [whole, places = ""] = text.replace(",", ".").split(".");
  const exponent = SCALE[unit], digit = Number(`1e${exponent - places.length}`);
  return { value: Number(`${whole}.${places || 0}e${exponent}`), half: digit / 2, digit };
}

const NUMBER = /^[-+]?\d{1,7}([.,]\d{1,6})?$/;
