"use strict";
// A controller is named last: what must have been read before a fault inside it may lead.

// What is still to be read before this mode of a controller may lead; empty for everything else.
function missingProof(build, all, mode) {
  const m = build.modes[mode], t = build.t.proof, box = t.boxes[m.part];
  if (m.family !== "electronics" || !box) return [];
  const card = build.card, home = homeSetup(card, all), off = (s) => s.off.filter((n) => !box.plugs.includes(n));
  const plugged = { state: home.state, off: off(home) };
  const volts = all.filter((r) => r.kind === "volts" && !r.unsteady && !r.off.some((n) => box.plugs.includes(n)))
    .map((r) => ({ red: r.nodes[build.number][0], black: r.nodes[build.number][1], value: r.value, state: r.state }));
  const dead = all.filter((r) => r.kind === "works" && r.seen === "dead");
  const like = (a, b) => setupKey({ state: a, off: [] }) === setupKey({ state: b, off: [] });
  const near = (pin) => box.pins[pin].near, found = [];
  const point = (nodes) => pointsIn(card, plugged.off).find((p) => nodes.includes(p.nodes[build.number]));
  const post = card.points.find((p) => p.name === "battery-") || null;
  const ask = (what, red, black, setup) => {
    const where = setup ? { state: setup.state, off: off(setup) } : plugged;
    const reachable = red && black && red.terminal !== black.terminal;
    const safe = like(where.state, plugged.state) || isSafe(card, plugged, where);
    const check = { kind: "volts", setup: where, red, black, part: "", minutes: 0, proves: what };
    if (reachable && safe) check.minutes = pairMinutes(build.c, red, black);
    if (!found.some((x) => x.what === what)) found.push({ what, check: reachable && safe ? check : null });
  };

  // Feed and ground under load.
  const pins = (role) => Object.keys(box.pins).filter((n) => box.pins[n].role === role), grounds = pins("earth");
  const whole = card.volts * (1 - t.loss);
  const supplied = (hot, cold) => {
    if (volts.some((r) => hot.includes(r.red) && cold.includes(r.black) && r.value >= whole)) return true;
    const to = (nodes) => volts.filter((r) => nodes.includes(r.red) && t.posts.includes(r.black)).map((r) => r.value);
    const high = to(hot), low = to(cold).map(Math.abs);
    return high.length > 0 && low.length > 0 && Math.max(...high) - Math.max(...low) >= whole;
  };
  const colds = grounds.length ? grounds.map(near) : [t.posts];
  const unfed = pins("battery").find((feed) => !colds.some((cold) => supplied(near(feed), cold)));
  if (unfed !== undefined) {
    const black = grounds.length ? point(near(grounds[0])) : null;
    ask(`feed and ground of ${m.part}, under load with the plug on`, point(near(unfed)), black || post);
  }
  // Its inputs, true in the state of the complaint.
  for (const complaint of dead) {
    for (const [name, meanings] of Object.entries(t.asked[complaint.subject] || {})) {
      if (!box.pins[name] || !build.circuit.t.inputs[name]) continue;
      const entry = build.circuit.t.inputs[name];
      const said = all.some((r) => r.kind === "code" && r.subject === name && like(r.state, complaint.state) &&
        meanings.includes(r.seen));
      const band = (v) => (entry.bands.find((b) => b.low <= v && v < b.high) || { means: "" }).means;
      const read = volts.some((r) => near(name).includes(r.red) && like(r.state, complaint.state) &&
        meanings.includes(band(r.value)));
      const what = `${name} ${meanings.join(" or ")} with the plug on, in the state of the complaint`;
      if (!said && !read) ask(what, point(near(name)), post, setupOf(complaint));
    }
  }
  // The pin in question.
  const pin = box.pins[m.pin];
  if (pin && !["battery", "earth", "ground"].includes(pin.role)) {
    let read = volts.filter((r) => pin.near.includes(r.red) || pin.near.includes(r.black));
    if (pin.role === "output" && dead.length) read = read.filter((r) => dead.some((d) => like(d.state, r.state)));
    if (!read.length) ask(`${m.pin} of ${m.part}, read with the plug on`, point(pin.near), post);
  }
  return found;
}
