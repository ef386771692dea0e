"use strict";
// The page: what holds, what was read, what it means, what comes next. Everything stays in the page itself.

const card = JSON.parse(document.getElementById("card").textContent);
const pocket = new Pocket(card);
const KEEP = `backprobe pocket ${card.id}`, SHOWN_GROUPS = 4, SHOWN_NAMES = 5;
const page = { lines: [], before: [], setup: restSetup(card), kind: "volts", answer: null, checks: [] };
const KINDS = [
  ["volts", "Volts"], ["ohms", "Ohms"], ["works", "Function"], ["lamp", "Lamp"], ["code", "Code at an input"],
  ["click", "Relay click"], ["fuse", "Fuse"], ["looked", "Looked at"], ["swapped", "Swapped"],
];
const byId = (id) => document.getElementById(id);

function make(tag, attributes, ...inside) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (name === "on") node.addEventListener(value[0], value[1]);
    else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value !== null) node.setAttribute(name, value);
  }
  node.append(...inside);
  return node;
}

function fill(id, ...nodes) {
  byId(id).replaceChildren(...nodes);
}

function button(text, act, kind) {
  return make("button", { type: "button", class: kind || null, on: ["click", act] }, text);
}

function choice(id, label, options, chosen) {
  const select = make("select", { id }, ...options.map(([value, text]) =>
    make("option", { value, selected: value === chosen }, text)));
  return make("div", { class: "field" }, make("label", { for: id }, label), select);
}

// --- what holds ----------------------------------------------------------------------------

function showSetup() {
  const nodes = card.controls.map((c, k) => {
    const field = choice(`control${k}`, c.name, c.positions.map((p) => [p, p]), page.setup.state[c.name]);
    field.lastChild.addEventListener("change", (event) => {
      page.setup = { ...page.setup, state: { ...page.setup.state, [c.name]: event.target.value } };
      showSetup();
    });
    return field;
  });
  const ticks = card.plugs.map((p, k) => make("label", { class: "tick", for: `plug${k}` },
    make("input", { type: "checkbox", id: `plug${k}`, checked: page.setup.off.includes(p.name),
      on: ["change", (event) => {
        const off = page.setup.off.filter((n) => n !== p.name);
        page.setup = { ...page.setup, off: event.target.checked ? [...off, p.name].sort() : off };
        showSetup();
        byId(`plug${k}`).focus();
      }] }), offWords(card, p.name)));
  if (ticks.length) nodes.push(make("fieldset", {}, make("legend", {}, "Off"), make("div", { class: "ticks" }, ...ticks)));
  fill("setup", ...nodes);
  byId("holds").textContent = setupWords(card, page.setup) || "nothing to set";
  showForm();
}

// --- a reading -----------------------------------------------------------------------------

function pointOptions() {
  return pointsIn(card, page.setup.off).map((p) => [p.name, p.name]);
}

function subjectsOf(kind) {
  const lists = {
    works: card.functions, lamp: Object.keys(card.lamps), code: Object.keys(card.inputs), click: card.relays,
    fuse: card.fuses, looked: Object.keys(card.parts), swapped: Object.keys(card.parts),
  };
  return lists[kind] || [];
}

function wordsOf(kind, subject) {
  const lists = {
    works: ["dead", "works"], lamp: card.lamps[subject], code: card.inputs[subject],
    click: ["clicks", "does not click"], fuse: ["good", "blown"], looked: ["fine", "bad"],
    swapped: ["no change", "works now"],
  };
  return lists[kind];
}

function showForm(given = {}) {
  const old = (id) => (byId(id) ? byId(id).value : undefined);
  const kinds = KINDS.filter(([kind]) => kind === "volts" || kind === "ohms" || subjectsOf(kind).length);
  const what = choice("kind", "What", kinds, page.kind);
  what.lastChild.addEventListener("change", (event) => {
    page.kind = event.target.value;
    showForm();
  });
  const nodes = [what];
  if (page.kind === "volts" || page.kind === "ohms") {
    nodes.push(
      choice("red", "Red lead on", pointOptions(), given.red || old("red")),
      choice("black", "Black lead on", pointOptions(), given.black || old("black") || "battery-"),
      numberField(),
    );
  } else {
    const names = subjectsOf(page.kind), subject = given.subject || old("subject");
    const about = choice("subject", "Which", names.map((n) => [n, n]), subject);
    about.lastChild.addEventListener("change", () => showForm());
    const chosen = names.includes(subject) ? subject : names[0];
    nodes.push(about, choice("seen", "Seen", wordsOf(page.kind, chosen).map((w) => [w, w]), old("seen")),
      make("div", { class: "line" }, button("Take it", () => take(byId("seen").value))));
  }
  fill("form", ...nodes);
  byId("wrong").textContent = "";
}

function numberField() {
  const units = page.kind === "volts" ? ["V", "mV"] : ["ohm", "kohm", "Mohm", "mohm"];
  const input = make("input", { type: "text", id: "value", inputmode: "decimal", autocomplete: "off",
    "aria-describedby": "wrong", on: ["keydown", (e) => { if (e.key === "Enter") take(input.value); }] });
  const unit = make("select", { id: "unit", "aria-label": "Unit" }, ...units.map((u) => make("option", {}, u)));
  const buttons = [button("Take it", () => take(input.value)), button("Unsteady", () => take("unsteady"), "second")];
  const box = make("div", { class: "field" }, make("label", { for: "value" }, "It shows"),
    make("div", { class: "beside" }, input, unit));
  if (page.kind === "ohms") {
    buttons.splice(1, 0, button("OL", () => take("OL"), "second"));
    box.append(make("label", { class: "tick", for: "zeroed" }, make("input", { type: "checkbox", id: "zeroed" }),
      "resistance of the leads taken off"));
  }
  return make("div", {}, box, make("div", { class: "line" }, ...buttons));
}

// The reading in the form, or what is wrong with it.
function take(value) {
  const line = { kind: page.kind, state: { ...page.setup.state }, off: [...page.setup.off] };
  if (page.kind === "volts" || page.kind === "ohms") {
    Object.assign(line, { red: byId("red").value, black: byId("black").value, value: value.trim(), unit: byId("unit").value });
    const [red, black] = [pocket.point.get(line.red), pocket.point.get(line.black)];
    const plain = line.value === "OL" || line.value === "unsteady";
    if (!plain && !NUMBER.test(line.value)) {
      return wrong(`'${line.value}' is no number. Write it as the meter shows it, such as 4.78 or 4,78.`);
    }
    if (page.kind === "ohms" && line.value.startsWith("-")) {
      return wrong(`'${line.value}' ohm is no resistance. The circuit has volts of its own: key off, then read again.`);
    }
    if (red.terminal === black.terminal) return wrong(`Red and black are both on ${line.red}. Choose two points.`);
    // An unsteady needle is one thing, whatever it should have shown.
    if (line.value === "unsteady") line.kind = "volts";
    if (line.kind === "ohms") line.zeroed = byId("zeroed").checked;
  } else {
    Object.assign(line, { subject: byId("subject").value, seen: value });
  }
  change([...page.lines, line]);
  if (byId("value")) byId("value").value = "";
  return true;
}

function wrong(text) {
  byId("wrong").textContent = `Wrong: ${text}`;
  if (byId("value")) byId("value").focus();
  return false;
}

// --- the list of readings ------------------------------------------------------------------

function change(lines) {
  page.before.push(page.lines);
  page.lines = lines;
  update();
}

function undo() {
  if (page.before.length) page.lines = page.before.pop();
  update();
}

function keep() {
  try {
    localStorage.setItem(KEEP, JSON.stringify(page.lines));
  } catch {
    // A browser that keeps nothing for a file: the list lasts as long as the page is open.
  }
}

function restore() {
  try {
    const lines = JSON.parse(localStorage.getItem(KEEP) || "[]");
    lines.forEach((line) => pocket.ready(line));
    page.lines = lines;
    if (lines.length) page.setup = { state: lines[lines.length - 1].state, off: lines[lines.length - 1].off };
  } catch {
    page.lines = [];
  }
}

function showLines() {
  const items = page.lines.map((line, k) => make("li", {},
    make("span", {}, lineWords(card, line)),
    button("Remove", () => change(page.lines.filter((_, i) => i !== k)), "second")));
  fill("lines", items.length ? make("ol", {}, ...items) : make("p", {}, "None yet."));
  byId("undo").disabled = !page.before.length;
  byId("clear").disabled = !page.lines.length;
  byId("text").value = shareText(pocket, page.lines, page.answer);
}

async function copy() {
  const box = byId("text");
  box.select();
  let done = false;
  try {
    await navigator.clipboard.writeText(box.value);
    done = true;
  } catch {
    done = document.execCommand("copy");
  }
  byId("copied").textContent = done ? "Copied." : "Press and hold the text to copy it.";
}

// --- the answer and what comes next --------------------------------------------------------

function suspectNodes(answer, group, leads) {
  const shown = group.suspects.slice(0, SHOWN_NAMES), more = group.suspects.length - shown.length;
  const names = shown.map((s) => {
    const ohms = severityOf(answer.first, s.mode);
    const about = ohms ? `, about ${quantity(ohms.best, "ohms", 2)} (${span(ohms.low, ohms.high, "ohms")})` : "";
    return make("li", {}, `${percent(s.probability)} ${s.name}${about}`);
  });
  if (more) names.push(make("li", {}, `and ${more} less likely`));
  const nodes = [make("p", { class: "share" }, make("strong", {}, percent(group.probability)),
    shown.length > 1 ? " one of these, alike by these readings:" : "")];
  nodes.push(make("meter", { min: 0, max: 1, value: group.probability, "aria-hidden": "true" }), make("ul", {}, ...names));
  if (leads && group.suspects[0].probability >= 0.5 && !answer.laptop) {
    nodes.push(make("p", {}, `Repair: ${group.suspects[0].repair} (${group.suspects[0].minutes.toFixed(0)} min). ` +
      "Then take the same readings again and try every guard in every operator state."));
  }
  if (group.held) {
    const lacks = answer.missing.get(group.suspects[0].name).map((m) => make("li", {}, m.what));
    nodes.push(make("p", {}, `Before ${group.suspects[0].name} may lead, still to be read:`), make("ul", {}, ...lacks));
  }
  return make("section", { class: "group" }, ...nodes);
}

function whyNodes(answer) {
  const s = answer.groups.length ? answer.groups[0].suspects[0] : null;
  const e = s && s.best;
  if (!e || !answer.readings.numbers.length) return [];
  const show = (x, r) => quantity(r.kind === "ohms" ? Math.exp(x) : x, r.kind);
  const rows = answer.readings.numbers.map((r, i) => make("li", {}, `${r.red} to ${r.black}: ` +
    `${show(answer.readings.measured[i], r)} read, ${show(e.predicted[i], r)} with ${s.name}, ` +
    `${show(answer.first.asMade[i], r)} if nothing is wrong`));
  return [make("details", {}, make("summary", {}, "Why"), make("ul", {}, ...rows))];
}

function showAnswer() {
  const answer = page.answer, nodes = [make("p", { class: "headline" }, headline(pocket, answer))];
  if (answer.laptop) nodes.push(make("p", { class: "caution" }, LAPTOP));
  answer.slips.forEach((chance, i) => {
    if (chance > card.constants.slipNamed) {
      const r = answer.readings.numbers[i];
      nodes.push(make("p", { class: "note" }, `Take this one again: ${r.red} to ${r.black} (${percent(chance)} a slip).`));
    }
  });
  if (answer.builds.length > 1) {
    const { choices, share } = answer.builds[0];
    nodes.push(make("p", {}, `Build: ${Object.entries(choices).map(([k, v]) => `${k}: ${v}`).join(", ")} (${percent(share)})`));
  }
  answer.groups.filter((g) => g.probability >= 0.01).slice(0, SHOWN_GROUPS)
    .forEach((g, k) => nodes.push(suspectNodes(answer, g, k === 0 && !g.held)));
  if (answer.asBuilt >= 0.01) nodes.push(make("p", {}, `${percent(answer.asBuilt)} nothing faulty here: it behaves as built`));
  nodes.push(make("p", {}, `${percent(answer.none)} none of these: the sheet or a reading is wrong`));
  if ([...answer.missing.values()].some((m) => m.length) && answer.groups.slice(0, 2).some((g) => g.held)) {
    nodes.push(make("p", { class: "note" }, card.words.controller));
  }
  fill("answer", ...nodes, ...whyNodes(answer));
}

// A check; the first one open, the others behind their first line.
function checkNodes(check, place) {
  const change_ = changeWords(card, page.setup, check.setup), nodes = [];
  if (check.kind !== "looked") nodes.push(make("p", {}, `With: ${setupWords(card, check.setup) || "as it stands"}`));
  if (check.kind !== "looked" && change_) nodes.push(make("p", {}, make("strong", {}, `Change: ${change_}`)));
  if (check.proves) nodes.push(make("p", {}, `Proves: ${check.proves}`));
  for (const caution of check.cautions) nodes.push(make("p", { class: "caution" }, `CAUTION: ${caution}`));
  nodes.push(make("p", {}, `Takes about ${minutesWords(check.minutes)}. It shows:`));
  nodes.push(make("ul", {}, ...check.outcomes.filter((o) => o.chance >= 0.004).slice(0, 5).map((o) =>
    make("li", {}, `${showsWords(check, o)} (${percent(o.chance)}): ${meansWords(o.means)}`))));
  nodes.push(button("It is set up: enter what it shows", () => begin(check)));
  const title = `${place + 1}. ${doWords(check)}`;
  if (!place) return make("section", { class: "check" }, make("h3", {}, title), ...nodes);
  return make("details", { class: "check" }, make("summary", {}, title), ...nodes);
}

// The form made ready for a check that was set up.
function begin(check) {
  page.setup = { state: { ...check.setup.state }, off: [...check.setup.off] };
  page.kind = check.kind;
  showSetup();
  showForm(check.kind === "looked" ? { subject: check.part } : { red: check.red.name, black: check.black.name });
  byId("reading").scrollIntoView();
  byId(check.kind === "looked" ? "seen" : "value").focus();
}

function showNext() {
  const worth = page.checks.filter((x) => x.bits >= 0.02 || x.proves);
  const nodes = worth.length ? worth.slice(0, 3).map(checkNodes) :
    [make("p", {}, "No single check that this card knows would tell much more.")];
  fill("next", ...nodes, make("p", {}, card.words.nothingFits));
}

function update() {
  keep();
  page.answer = null;
  showLines();
  byId("busy").textContent = "Working ...";
  // The list is shown before the reckoning begins.
  setTimeout(() => {
    page.answer = pocket.rank(page.lines);
    page.checks = pocket.next(page.answer, 6);
    showAnswer();
    showNext();
    showLines();
    byId("busy").textContent = "";
    document.body.dataset.ready = String(page.lines.length);
  }, 30);
}

byId("undo").addEventListener("click", undo);
byId("clear").addEventListener("click", () => change([]));
byId("copy").addEventListener("click", copy);
restore();
byId("setup").parentElement.open = !page.lines.length;
showSetup();
update();
