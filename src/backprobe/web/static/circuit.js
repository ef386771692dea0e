// A circuit drawing under a finger: zoom by pinch, buttons, keys and ctrl with the wheel, pan by drag,
// and a tap on a part or a point. Without this file the drawing is a picture that scrolls.
"use strict";

const LEAST = 0.25;
const MOST = 4;
const STEP = 1.3;
const SLIP = 10; // pixels a gloved finger may move and still tap
const NEAR = 14; // drawing units within which a point is meant rather than its part
const REACH = 24;

class Drawing {
  constructor(frame) {
    this.frame = frame;
    this.view = frame.querySelector(".drawing-view");
    this.svg = this.view.querySelector("svg");
    this.width = Number(this.svg.getAttribute("width"));
    this.height = Number(this.svg.getAttribute("height"));
    this.scale = 1;
    this.fingers = new Map();
    this.moved = 0;
    frame.classList.add("live");
    const tools = frame.querySelector(".drawing-tools");
    tools.hidden = false;
    tools.addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (button) this.act(button.dataset.zoom);
    });
    this.view.addEventListener("keydown", (event) => this.key(event));
    this.view.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    this.view.addEventListener("pointerdown", (event) => this.down(event));
    this.view.addEventListener("pointermove", (event) => this.move(event));
    for (const end of ["pointerup", "pointercancel"]) {
      this.view.addEventListener(end, (event) => this.up(event));
    }
    this.choose(frame.dataset.chosen || "");
    // The rails stand at the left: of two leads the other one is the farther.
    const place = (lead) => lead.getBoundingClientRect().left;
    const leads = [...this.svg.querySelectorAll(".lead")].sort((a, b) => place(b) - place(a));
    const first = this.svg.querySelector(".suspect") || leads[0];
    this.look([...this.svg.querySelectorAll(".chosen")].pop() || first);
  }

  // What the page is about stands in the middle from the start.
  look(what) {
    if (!what) return;
    const [here, box] = [what.getBoundingClientRect(), this.view.getBoundingClientRect()];
    this.view.scrollLeft += here.left + here.width / 2 - box.left - box.width / 2;
    this.view.scrollTop += here.top + here.height / 2 - box.top - box.height / 2;
  }

  act(what) {
    const box = this.view.getBoundingClientRect();
    const middle = [box.left + box.width / 2, box.top + box.height / 2];
    if (what === "in") this.zoom(this.scale * STEP, ...middle);
    if (what === "out") this.zoom(this.scale / STEP, ...middle);
    if (what === "fit") this.zoom(Math.min(1, (this.view.clientWidth - 4) / this.width), ...middle);
    if (what === "full") this.zoom(1, ...middle);
  }

  key(event) {
    const what = { "+": "in", "=": "in", "-": "out", 0: "fit", 1: "full" }[event.key];
    if (!what || event.ctrlKey || event.metaKey || event.altKey) return;
    this.act(what);
    event.preventDefault();
  }

  wheel(event) {
    if (!event.ctrlKey) return;
    event.preventDefault();
    this.zoom(this.scale * Math.exp(-event.deltaY / 400), event.clientX, event.clientY);
  }

  // What lies under (x, y) stays there.
  zoom(scale, x, y) {
    const next = Math.min(MOST, Math.max(LEAST, scale));
    const box = this.view.getBoundingClientRect();
    const [left, top] = [x - box.left, y - box.top];
    const share = next / this.scale;
    const [overX, overY] = [this.view.scrollLeft + left, this.view.scrollTop + top];
    this.svg.setAttribute("width", this.width * next);
    this.svg.setAttribute("height", this.height * next);
    this.scale = next;
    this.view.scrollLeft = overX * share - left;
    this.view.scrollTop = overY * share - top;
  }

  down(event) {
    if (event.pointerType === "mouse" && event.button !== 0) return;
    this.fingers.set(event.pointerId, [event.clientX, event.clientY]);
    if (this.fingers.size === 1) this.moved = 0;
    else this.moved = SLIP + 1;
  }

  move(event) {
    const was = this.fingers.get(event.pointerId);
    if (!was) return;
    const before = this.spread();
    this.fingers.set(event.pointerId, [event.clientX, event.clientY]);
    const [dx, dy] = [event.clientX - was[0], event.clientY - was[1]];
    this.moved += Math.hypot(dx, dy);
    if (this.moved <= SLIP) return;
    if (!this.view.hasPointerCapture(event.pointerId)) this.view.setPointerCapture(event.pointerId);
    if (before) {
      const after = this.spread();
      if (before.wide > 0) this.zoom((this.scale * after.wide) / before.wide, after.x, after.y);
      this.pan(after.x - before.x, after.y - before.y);
    } else {
      this.pan(dx, dy);
    }
  }

  pan(dx, dy) {
    const top = this.view.scrollTop;
    this.view.scrollLeft -= dx;
    this.view.scrollTop -= dy;
    // At its edge the drawing hands the finger on to the page, so that nobody is caught in it.
    if (dy && this.view.scrollTop === top) window.scrollBy(0, -dy);
  }

  spread() {
    if (this.fingers.size !== 2) return null;
    const [[ax, ay], [bx, by]] = [...this.fingers.values()];
    return { wide: Math.hypot(ax - bx, ay - by), x: (ax + bx) / 2, y: (ay + by) / 2 };
  }

  up(event) {
    const known = this.fingers.delete(event.pointerId);
    if (known && event.type === "pointerup" && this.fingers.size === 0 && this.moved <= SLIP) {
      this.tap(event.clientX, event.clientY);
    }
  }

  tap(x, y) {
    const at = new DOMPoint(x, y).matrixTransform(this.svg.getScreenCTM().inverse());
    const point = this.nearest(at);
    const part = this.partAt(at);
    if (point && (point.far <= NEAR || !part)) this.go("point", point.name);
    else if (part) this.go("part", part);
  }

  nearest(at) {
    let best = null;
    for (const spot of this.svg.querySelectorAll(".point")) {
      const far = Math.hypot(at.x - Number(spot.getAttribute("cx")), at.y - Number(spot.getAttribute("cy")));
      if (far <= REACH && (!best || far < best.far)) best = { name: spot.dataset.point, far };
    }
    return best;
  }

  partAt(at) {
    let best = null;
    for (const part of this.svg.querySelectorAll(".part")) {
      const box = part.getBBox();
      const pad = Math.max(0, (REACH * 2 - box.width) / 2);
      const inside =
        at.x >= box.x - pad && at.x <= box.x + box.width + pad && at.y >= box.y && at.y <= box.y + box.height;
      const area = box.width * box.height;
      if (inside && (!best || area < best.area)) best = { name: part.dataset.part, area };
    }
    return best && best.name;
  }

  go(what, name) {
    const base = this.frame.dataset[what];
    if (!base) return;
    const address = new URL(base, window.location.href);
    address.searchParams.set(what === "part" ? "part" : "red", name);
    if (what === "part") this.show(address, name);
    else window.location.assign(address);
  }

  // A part's faults are put into the page, so that the drawing stays where it is.
  async show(address, name) {
    const old = document.getElementById("part");
    try {
      const answer = await fetch(address, { credentials: "same-origin" });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.getElementById("part");
      if (!answer.ok || !old || !fresh) throw new Error("no part in the answer");
      old.replaceWith(fresh);
      window.history.replaceState(null, "", address);
      this.choose(name);
      fresh.focus({ preventScroll: true });
      fresh.scrollIntoView({ block: "nearest" });
    } catch {
      window.location.assign(address);
    }
  }

  choose(name) {
    for (const part of this.svg.querySelectorAll(".part")) {
      part.classList.toggle("chosen", part.dataset.part === name);
    }
  }
}

function begin() {
  for (const frame of document.querySelectorAll("[data-drawing]:not(.live)")) {
    if (frame.querySelector("svg")) new Drawing(frame);
  }
}

begin();
document.addEventListener("backprobe:page", begin);
