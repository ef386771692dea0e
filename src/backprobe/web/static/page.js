// What a page gains from JavaScript: a form answers in place, and the answer is read aloud.
// Without it every form works as a plain form does.
"use strict";
(() => {
  // A jump within the page changes its address too; only another page is loaded anew.
  const pageOf = (place) => place.pathname + place.search;
  const TYPING = 80; // How long no further key must have come [ms].
  let shown = pageOf(location), typing = 0;
  const status = () => document.getElementById("status");

  function show(html, address) {
    const fresh = new DOMParser().parseFromString(html, "text/html");
    const main = fresh.querySelector("main");
    const scripts = [...fresh.querySelectorAll("script[src]")].map((s) => s.getAttribute("src"));
    const here = [...document.querySelectorAll("script[src]")].map((s) => s.getAttribute("src"));
    // A page with scripts of its own is loaded whole, so that they run.
    if (!main || scripts.join() !== here.join()) return false;
    document.title = fresh.title;
    document.querySelector("main").replaceWith(document.adoptNode(main));
    for (const part of [".top", ".jobhead", ".foot"]) {
      const one = document.querySelector(part), other = fresh.querySelector(part);
      if (!one !== !other) return false;
      if (one) one.replaceWith(document.adoptNode(other));
    }
    history.pushState({}, "", address);
    shown = pageOf(location);
    const said = document.querySelector("[data-say]");
    const wrong = document.querySelector("[aria-invalid], #wrong");
    status().textContent = said ? said.textContent : document.title;
    if (wrong) { wrong.tabIndex = wrong.tabIndex < 0 ? -1 : wrong.tabIndex; wrong.focus(); wrong.scrollIntoView({ block: "center" }); }
    else { document.querySelector("main").focus({ preventScroll: true }); scrollTo(0, 0); }
    document.dispatchEvent(new CustomEvent("backprobe:page"));
    return true;
  }

  document.addEventListener("submit", async (event) => {
    const form = event.target, sender = event.submitter;
    if (form.method !== "post" || form.enctype !== "application/x-www-form-urlencoded" || "whole" in form.dataset) return;
    if (sender && (sender.formAction !== form.action && sender.hasAttribute("formaction"))) return;
    event.preventDefault();
    clearTimeout(typing);
    const body = new URLSearchParams(new FormData(form, sender));
    form.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(form.action, { method: "POST", body, credentials: "same-origin" });
      const text = await answer.text();
      if (!(answer.headers.get("content-type") || "").startsWith("text/html")) {
        form.removeAttribute("aria-busy");
        alert(text);
      } else if (!show(text, answer.url)) location.assign(answer.url);
    } catch {
      // The laptop is gone or asleep: what was typed stays where it is.
      form.removeAttribute("aria-busy");
      status().textContent = status().dataset.gone;
      alert(status().textContent);
    }
  });

  document.addEventListener("click", () => { shown = pageOf(location); }, true);
  addEventListener("popstate", () => { if (pageOf(location) !== shown) location.reload(); });

  // A phone shows its digits for a number; what digits cannot say is put there by keys.
  function bringKeys() {
    for (const keys of document.querySelectorAll("[data-keys][hidden]")) {
      const field = document.getElementById(keys.dataset.keys);
      field.inputMode = "decimal";
      keys.hidden = false;
      keys.addEventListener("pointerdown", (event) => event.preventDefault());
      keys.addEventListener("click", ({ target }) => {
        const { before, behind } = target.dataset, typed = field.value.trim();
        if (before) field.value = typed.startsWith(before.trim()) ? typed.slice(before.trim().length).trim() : before + typed;
        if (behind) field.value = typed.endsWith(behind) ? typed.slice(0, -1) : typed.replace(/[kmM]$/, "") + behind;
        field.dispatchEvent(new Event("input", { bubbles: true }));
        field.focus();
      });
    }
  }
  bringKeys();
  document.addEventListener("backprobe:page", bringKeys);

  // The laptop thinks of what is typed before it is sent; nothing is stored until then.
  function typed({ target }) {
    const form = target.form;
    clearTimeout(typing);
    if (form && "typed" in form.dataset && /\d/.test(new FormData(form).get("value") || ""))
      typing = setTimeout(() => {
        const body = new URLSearchParams(new FormData(form));
        if (form.isConnected) fetch(form.dataset.typed, { method: "POST", body, credentials: "same-origin" }).catch(() => {});
      }, TYPING);
  }
  document.addEventListener("input", typed);

  // What is sent only with every tick sleeps until the last one is set.
  function wake() {
    for (const form of document.querySelectorAll("form[data-all]")) {
      const ticks = [...form.querySelectorAll("input[type=checkbox]")];
      for (const button of form.querySelectorAll("button")) button.disabled = !ticks.every((tick) => tick.checked);
    }
  }

  // Ticks outlast a look at another page; a repair, a guard that failed or what is taken back voids them.
  function keepTicks({ target }) {
    const form = target.form;
    if (form && "keep" in form.dataset && target.type === "checkbox")
      sessionStorage.setItem(form.dataset.keep, JSON.stringify(new FormData(form).getAll(target.name)));
  }
  function bringTicks() {
    for (const form of document.querySelectorAll("form[data-keep]")) {
      const kept = JSON.parse(sessionStorage.getItem(form.dataset.keep) || "[]");
      for (const tick of form.querySelectorAll("input[type=checkbox]")) tick.checked ||= kept.includes(tick.value);
    }
    wake();
  }
  bringTicks();
  document.addEventListener("backprobe:page", bringTicks);
  document.addEventListener("change", keepTicks);
  document.addEventListener("change", wake);
  addEventListener("pageshow", bringTicks);
})();
