"use strict";
// Numbers, setups and readings in words; a reading's line is one that Backprobe reads again.

const OHM = "Ω", OVER_RANGE = 2e7;

// Three digits with a prefix, never an exponent.
function engineering(value, unit, digits) {
  if (Math.abs(value) < 1e-9) return `0 ${unit}`;
  const [mantissa, power] = value.toExponential(digits - 1).split("e").map(Number);
  const least = unit === "V" ? -3 : -3, most = unit === "V" ? 0 : 6;
  const prefix = Math.min(Math.max(Math.floor(power / 3) * 3, least), most), shift = power - prefix;
  const number = (mantissa * 10 ** shift).toFixed(Math.max(digits - 1 - shift, 0));
  return `${number} ${{ "-3": "m", 0: "", 3: "k", 6: "M" }[prefix]}${unit}`;
}

function quantity(value, kind, digits = 3) {
  if (kind === "ohms") return value > OVER_RANGE ? "OL" : engineering(Math.max(value, 0), OHM, digits);
  if (Math.abs(value) < 5e-4) return "0 V";
  return Math.abs(value) >= 0.1 && Math.abs(value) < 1 ? `${value.toFixed(2)} V` : engineering(value, "V", digits);
}

function span(low, high, kind) {
  const digits = high > 0 && Math.abs(high - low) < 0.1 * Math.abs(high) ? 3 : 2;
  const ends = [low, high].map((x) => quantity(x, kind, digits));
  return ends[0] === ends[1] ? ends[0] : `${ends[0]} to ${ends[1]}`;
}

function percent(share) {
  if (share < 0.005) return share > 0 ? "below 1 %" : "0 %";
  return share > 0.995 ? "over 99 %" : `${(100 * share).toFixed(0)} %`;
}

function minutesWords(minutes) {
  if (minutes < 1) return "1 min";
  return minutes >= 12.5 ? `${5 * Math.round(minutes / 5)} min` : `${minutes.toFixed(0)} min`;
}

function listed(words, joiner = "and") {
  return words.length < 2 ? words.join("") : `${words.slice(0, -1).join(", ")} ${joiner} ${words[words.length - 1]}`;
}

function offWords(card, name) {
  const plug = card.plugs.find((p) => p.name === name);
  return plug && plug.plug ? `${name} unplugged` : `${name} out`;
}

// Such as: key on, gate shut, all plugged.
function setupWords(card, setup) {
  const parts = card.controls.map((c) => `${c.name} ${setup.state[c.name]}`);
  if (setup.off.length) parts.push(...setup.off.map((n) => offWords(card, n)));
  else if (card.plugs.some((p) => p.plug)) parts.push("all plugged");
  return parts.join(", ");
}

// What has to be changed to get from one setup to another; empty when nothing.
function changeWords(card, before, after) {
  const moved = card.controls.filter((c) => before.state[c.name] !== after.state[c.name]);
  const latches = card.builds[0].circuit.latches;
  const parts = moved.filter((c) => c.remembered).map((c) => {
    const steps = Object.entries(latches[c.name].by).map(([control, p]) => `${control} ${p}`);
    if (after.state[c.name] === card.builds[0].circuit.set) return `first set ${c.name}: ${listed(steps)}, then back`;
    return `first clear ${c.name}`;
  });
  const put = moved.filter((c) => !c.remembered).map((c) => `${c.name} to ${after.state[c.name]}`);
  const off = after.off.filter((n) => !before.off.includes(n)), back = before.off.filter((n) => !after.off.includes(n));
  if (put.length) parts.push(`put ${listed(put)}`);
  if (off.length) parts.push(`take off ${listed(off)}`);
  if (back.length) parts.push(`put back ${listed(back)}`);
  return parts.join(", ");
}

function valueWords(line) {
  if (line.value === "unsteady") return "unsteady";
  if (line.value === "OL") return "OL ohm";
  return `${line.value.replace(",", ".")} ${line.unit}`;
}

// What was seen, without its setup.
function seenWords(line) {
  switch (line.kind) {
    case "volts":
    case "ohms": return `${line.red} to ${line.black}: ${valueWords(line)}`;
    case "code": return `${line.subject} is ${line.seen}`;
    case "looked": return `looked at ${line.subject} ${line.seen}`;
    case "swapped": return `swapped ${line.subject} ${line.seen}`;
    default: return `${line.subject} ${line.seen}`;
  }
}

// The reading as a typed line, complete by itself.
function lineWords(card, line) {
  const zeroed = line.kind === "ohms" && line.zeroed && line.value !== "OL" ? ", leads zeroed" : "";
  const setup = setupWords(card, line);
  return `${seenWords(line)}${setup ? `, ${setup}` : ""}${zeroed}`;
}

function headline(pocket, answer) {
  const first = answer.groups[0];
  if (!answer.all.length) return "Nothing read yet: this is only what fails most often.";
  if (answer.none > (first ? first.probability : 0)) {
    return `None of these faults alone explains the readings (${percent(answer.none)}).`;
  }
  const held = answer.groups.filter((g) => g.held).sort((a, b) => b.probability - a.probability)[0];
  const most = Math.max(...answer.groups.map((g) => g.probability));
  if (held && held.probability >= most && answer.asBuilt <= held.probability) {
    return `No controller is named before it is proven: ${held.suspects[0].name} (${percent(held.probability)}) ` +
      "would lead, but not everything around it has been read.";
  }
  if (answer.sound) {
    return `Every reading is as the circuit was built (${percent(answer.asBuilt)}); what they cannot show is not ruled out.`;
  }
  if (first.suspects.length === 1) return `${first.suspects[0].name} (${percent(first.probability)}).`;
  return `One of ${first.suspects.length} that these readings cannot tell apart (${percent(first.probability)}), ` +
    `most likely ${first.suspects[0].name}.`;
}

// Readings and answer as text, to be sent or pasted: lines that Backprobe reads, the rest as comments.
function shareText(pocket, lines, answer) {
  const card = pocket.card, text = [`# ${card.sheet}`, ...lines.map((line) => lineWords(card, line))];
  if (answer && answer.all.length) {
    text.push(`# ${headline(pocket, answer)}`);
    if (answer.laptop) text.push(`# ${LAPTOP}`);
    for (const g of answer.groups.slice(0, 3)) {
      text.push(`# ${percent(g.probability)} ${g.suspects.slice(0, 3).map((s) => s.name).join(", or ")}`);
    }
  }
  return `${text.join("\n")}\n`;
}

const LAPTOP = "More than one fault or a wrong reading: use the laptop.";

// What to do, in one sentence without the setup.
function doWords(check) {
  if (check.kind === "looked") return `Look at ${check.part}`;
  const at = ({ name }) => (/^(before|after) /.test(name) ? name : `on ${name}`);
  return `${check.kind === "ohms" ? "Ohms" : "Volts"}: red ${at(check.red)}, black ${at(check.black)}`;
}

function meansWords(names) {
  const shown = names.slice(0, 3).map((n) => (n === "as built" ? "no fault here" : n));
  const more = names.length - shown.length;
  if (!names.length) return "nothing in particular";
  return shown.join(", or ") + (more > 0 ? `, or ${more} less likely` : "");
}

function showsWords(check, outcome) {
  if (outcome.shows) return outcome.shows;
  if (check.kind === "ohms" && outcome.low > OVER_RANGE) return "OL";
  return span(outcome.low, outcome.high, check.kind);
}
