"use strict";
// Setups that are worth a thought and safe to make, the points within reach in them, and what that takes.

function restSetup(card) {
  return { state: Object.fromEntries(card.controls.map((c) => [c.name, c.positions[0]])), off: [] };
}

function without(setup, name) {
  return { state: setup.state, off: [...new Set([...setup.off, name])].sort() };
}

// The setup of the complaint, else of the last reading.
function homeSetup(card, all) {
  const complaint = all.find((r) => r.kind === "works");
  if (complaint) {
    const state = JSON.stringify(sorted(complaint.state));
    const same = all.filter((r) => JSON.stringify(sorted(r.state)) === state);
    return { state: complaint.state, off: same[same.length - 1].off };
  }
  const placed = all.filter((r) => r.kind !== "swapped" && r.kind !== "looked");
  return placed.length ? setupOf(placed[placed.length - 1]) : restSetup(card);
}

function sorted(state) {
  return Object.keys(state).sort().map((k) => [k, state[k]]);
}

function isPlaced(r) {
  return r.kind !== "swapped" && r.kind !== "looked" && r.kind !== "fuse";
}

// Where the complaint shows, one thing changed from there, at rest, and where a reading was made already.
function candidateSetups(card, all) {
  const home = homeSetup(card, all), rest = restSetup(card);
  const plugs = card.plugs.filter((p) => p.plug).map((p) => p.name);
  const heldOut = home.off.filter((n) => !plugs.includes(n));
  const plain = { state: home.state, off: all.some((r) => r.kind === "works") ? home.off : heldOut };
  const setups = [home];
  for (const name of plugs) setups.push(without(plain, name), without(rest, name));
  for (const control of card.controls) {
    for (const p of control.positions) {
      if (p === plain.state[control.name]) continue;
      setups.push({ state: { ...plain.state, [control.name]: p }, off: plain.off });
    }
  }
  for (const p of card.plugs) if (p.ring) setups.push(without(plain, p.name));
  const made = all.filter((r) => r.kind !== "works").map(setupOf);
  const unique = new Map([...setups, ...made].map((s) => [setupKey(s), s]));
  const key = setupKey(home);
  return [...unique.values()].filter((s) => setupKey(s) === key || isSafe(card, home, s));
}

// Whether no function is asked for while its guard is open.
function isSafe(card, home, setup) {
  const t = card.builds[0].circuit, state = setup.state;
  const latched = new Set(Object.entries(t.latches).filter(([name, latch]) => state[name] === t.set ||
    Object.entries(latch.by).every(([control, p]) => state[control] === p)).map(([name]) => name));
  const atom = (subject, meaning) => {
    if (latched.has(subject)) return meaning === t.set;
    return (state[subject] ?? meaning) === meaning;
  };
  for (const f of t.functions) {
    if (f.guard === null || truth(f.guard, atom)) continue;
    const guarding = new Set(subjects(f.guard));
    // Inputs are taken as true: a lying input is just what may be wrong.
    const wanted = f.releases !== null ? truth(f.releases, atom) : latched.size > 0 ||
      Object.keys(state).every((c) => guarding.has(c) || state[c] === home.state[c]);
    if (wanted || Object.values(state).includes("start")) return false;
  }
  return true;
}

function truth(rule, atom) {
  if (rule[0] === "is") return atom(rule[1], rule[2]);
  if (rule[0] === "not") return !truth(rule[1], atom);
  if (rule[0] === "and") return truth(rule[1], atom) && truth(rule[2], atom);
  return truth(rule[1], atom) || truth(rule[2], atom);
}

function subjects(rule) {
  return rule[0] === "is" ? [rule[1]] : rule.slice(1).flatMap(subjects);
}

// Minutes to get from one setup to another.
function changeMinutes(card, one, other) {
  const c = card.constants, starts = (s) => Object.values(s.state).includes("start");
  let minutes = c.flip * Object.keys(other.state).filter((k) => one.state[k] !== other.state[k]).length;
  if (starts(other) && !starts(one)) minutes += c.start;
  for (const name of differing(one, other)) {
    const plug = card.plugs.find((p) => p.name === name);
    minutes += c.unplug + (plug && plug.plug ? plug.minutes : c.pull);
  }
  return minutes;
}

function differing(one, other) {
  return [...new Set([...one.off, ...other.off])].filter((n) => one.off.includes(n) !== other.off.includes(n)).sort();
}

// Points that a lead can reach with this unplugged.
function pointsIn(card, off) {
  return card.points.filter((p) => !p.plug || Boolean(p.side) === off.includes(p.plug));
}

// Every pair of points, the one nearer the negative post as black.
function pairsOf(points) {
  const order = (p) => ({ "battery-": 0, frame: -1 })[p.name] ?? -9;
  const listed = points.map((p, k) => [p, k]).sort((a, b) => order(a[0]) - order(b[0]) || a[1] - b[1]).map(([p]) => p);
  const pairs = [];
  listed.forEach((red, i) => {
    for (const black of listed.slice(i + 1)) if (red.terminal !== black.terminal) pairs.push([red, black]);
  });
  return pairs;
}

function pairMinutes(c, red, black) {
  return c.lead + Math.max(red.minutes, black.minutes) + 0.3 * Math.min(red.minutes, black.minutes);
}

// The cautions that belong to a check, and only those.
function cautionsOf(card, check, last) {
  const found = [];
  // Setups that the card has not worked out are taken to be ones in which something may move.
  const known = setupKey(check.setup) in card.builds[0].settled.rows, starts = Object.values(check.setup.state).includes("start");
  if (check.kind === "volts" && known) found.push(...(card.stateCautions[setupKey(check.setup)] ?? []));
  else if (check.kind === "volts") found.push(starts ? card.words.cranks : card.words.moves);
  found.push(...differing(check.setup, last).map((n) => card.words.beforeUnplugging.replace("{name}", n)));
  for (const [control, position] of sorted(check.setup.state)) {
    if (control.includes("brake") && position === "released" && last.state[control] !== position) {
      found.push(card.words.rolls.replace("{control}", control));
    }
  }
  if (check.kind === "ohms") found.push(card.words.ohmsDead);
  for (const point of [check.red, check.black]) {
    const plug = point && card.plugs.find((p) => p.name === point.plug);
    if (plug && plug.caution) found.push(plug.caution);
  }
  if (check.part && card.parts[check.part] && card.parts[check.part].caution) {
    found.push(card.parts[check.part].caution);
  }
  // What the sheet says of cranking belongs only where somebody holds the key, and comes first there.
  const measured = check.kind === "volts" || check.kind === "ohms", off = check.setup.off;
  const own = card.cautions.filter(({ text, starts: cranks }) => !cranks
    || (measured && starts && !off.some((name) => text.toLowerCase().startsWith(`unplug ${name.toLowerCase()} `))));
  const first = own.filter(({ text }) => text.includes("crank"));
  return [...new Set([...first, ...found, ...own].map((one) => one.text ?? one))];
}
