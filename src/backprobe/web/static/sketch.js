// The sketch that was left is offered again: its address is kept in this browser and nowhere else.
"use strict";

const KEY = "backprobe sketch";

function keep(address) {
  try {
    window.localStorage.setItem(KEY, address);
  } catch {
    // A browser that keeps nothing: the address itself still holds the sketch.
  }
}

function kept() {
  try {
    return window.localStorage.getItem(KEY) || "";
  } catch {
    return "";
  }
}

const query = new URLSearchParams(window.location.search).get("s");
const link = document.getElementById("left-sketch");
if (query) {
  keep(query);
} else if (link && kept()) {
  link.querySelector("a").href = `?s=${encodeURIComponent(kept())}`;
  link.hidden = false;
}
