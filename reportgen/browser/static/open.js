"use strict";
// The light is this browser's own choice and is set before anything is drawn.
const light = on => { if (on) document.documentElement.dataset.light = "sun"; else delete document.documentElement.dataset.light; };
light(localStorage.getItem("light") === "sun");

const by = id => document.getElementById(id);
const page = () => by("main");
const fields = () => [...page().querySelectorAll("[data-at]")];
const unwritten = f => f.value !== f.dataset.shown && !(f.dataset.origin && f.value === f.defaultValue);
const address = what => location.pathname.replace(/\/$/, "") + "/" + what + location.search;
const told = f => by("m-" + f.id);
const sent = (f, more) => ({ at: f.dataset.at, was: f.dataset.typedOver ?? f.dataset.was, value: f.value, kind: f.dataset.kind,
  unit: f.dataset.unit, begin: f.dataset.begin || "", field: f.id, seen: page().dataset.seen, ...more });

// One answer after another; `moving` while Enter waits for one, and what is typed meanwhile belongs to the next field.
let chain = Promise.resolve(), moving = false, keys = [], done = false, under = "", asks = "";
const send = (values, target) => { // what is sent is read when its turn comes: an answer before may have changed it
  chain = chain.then(async () => {
    const given = values();
    done = !given;
    under = given?.field || "";
    if (given) await htmx.ajax("POST", address("write"), { source: "#writer", target: target(), swap: "innerHTML", values: given });
    under = "";
    if (!done && given?.field && document.activeElement === document.body) by(given.field)?.focus(); // what had the focus was answered and is gone
    return done;
  }).catch(() => false);
  return chain;
};
document.addEventListener("htmx:error", event => { // nobody answers: what was typed stays in its field, and the page says so
  const ctx = event.detail.ctx, places = ctx && !ctx.response ? [by("told"), ctx.sourceElement?.id === "writer" && ctx.target] : [];
  for (const place of places) if (place?.replaceChildren) place.replaceChildren(Object.assign(document.createElement("p"), { className: "refused", textContent: document.body.dataset.lost }));
});
document.addEventListener("htmx:before:response", event => { // what leads on to another page was written: nothing is lost by leaving
  const f = event.detail.ctx.hx?.redirect && by(under);
  if (f) f.value = f.dataset.shown;
});
const write = (f, more) => send(() => (more || unwritten(f) || f.dataset.origin) && sent(f, more), () => told(f));

const after = (f, section) => {
  // a number typed after a reading is the next reading: never the size of what was blasted
  const size = each => f.dataset.live === "live" && each.dataset.at?.endsWith("/cleaned");
  const wanted = [...page().querySelectorAll("[data-wanted]")].filter(each => each !== f && !size(each));
  const later = each => f.compareDocumentPosition(each) & Node.DOCUMENT_POSITION_FOLLOWING;
  const within = each => section && section.contains(each);
  const beyond = each => section && section.compareDocumentPosition(each) & Node.DOCUMENT_POSITION_FOLLOWING;
  const next = (f.isConnected && !f.dataset.begin ? wanted.find(later) : wanted.find(within) || wanted.find(beyond)) || wanted[0];
  const again = section?.dataset.log !== undefined && section.querySelector("[data-begin]"); // a log goes on where it is
  for (let part = next?.closest("details"); part; part = part.parentElement.closest("details")) part.open = true;
  (next || again !== f && again || document.querySelector("main a.next") || document.querySelector("#margin a, #foot summary, main a.first") || page()).focus();
};
const before = f => {
  const all = fields(), at = all.indexOf(f);
  if (at > 0) all[at - 1].focus();
};
const enter = async f => {
  const name = f.closest("section")?.id, from = f.dataset.again ? by(f.dataset.again) : f;
  moving = true;
  if (from !== f) from.value = f.value;
  const written = await write(from);
  moving = false;
  if (!written || asks && by("again-" + asks)) { keys = []; return; } // what is typed meanwhile answers no question
  after(from.isConnected ? from : f, by(name));
  replay();
};
const press = async button => { // one that is next in the order of entry leads on, as Enter in a field does
  const next = button.dataset.wanted !== undefined, name = button.closest("section")?.id;
  if (next) moving = true;
  const written = await send(() => ({ ...JSON.parse(button.dataset.send), seen: page().dataset.seen }), () => "#told");
  if (!next && document.activeElement !== document.body) return;
  moving = false;
  if (written) { after(button, by(name)); replay(); } else keys = [];
};
const replay = () => {
  let begun = "";
  while (keys.length && !moving) {
    const key = keys.shift(), f = document.activeElement;
    if (key === "Enter") { begun = ""; if (f.dataset.at || f.dataset.again) enter(f); else f.click(); continue; }
    if (f.tagName === "SELECT") {
      const option = [...f.options].find(each => each.text.toLowerCase().startsWith(begun + key.toLowerCase()));
      if (option) { begun += key.toLowerCase(); f.value = option.value; }
    } else if (f.dataset.at) { f.setRangeText(key, f.selectionStart, f.selectionEnd, "end"); }
    f.dispatchEvent(new Event(f.tagName === "SELECT" ? "change" : "input", { bubbles: true }));
  }
};

let pause;
const look = f => {
  const live = by(f.dataset.live);
  clearTimeout(pause);
  if (live) pause = setTimeout(() => htmx.ajax("POST", address("look"), { source: live, target: live, swap: "innerHTML", values: sent(f) }).then(() => lights(live)), 80);
};
const lights = live => {
  const one = live.querySelector("[data-spot]"), why = one && page().querySelector(`[data-why="${CSS.escape(one.dataset.spot)}"]`);
  if (!why) return;
  why.textContent = one.dataset.because;
  why.classList.toggle("unseen", !one.dataset.because);
  for (const each of why.closest("fieldset").querySelectorAll(".entry")) {
    const own = each.querySelector("[data-at]"), lit = !!one.dataset.grade && each.dataset.grade === one.dataset.grade && !own.dataset.was;
    each.classList.toggle("lit", lit);
    if (lit) own.dataset.wanted = "";
  }
};

document.addEventListener("keydown", event => {
  const f = event.target;
  if (moving && (event.key.length === 1 || event.key === "Enter") && !event.ctrlKey && !event.metaKey && !event.altKey) {
    event.preventDefault(); keys.push(event.key); return;
  }
  if (!f.dataset || !(f.dataset.at || f.dataset.again)) return;
  if (event.key === "Enter" && event.shiftKey) { event.preventDefault(); before(f); }
  else if (event.key === "Enter") { event.preventDefault(); enter(f); }
  else if (event.key === "Escape" && f.dataset.at) {
    f.value = f.dataset.origin ? f.defaultValue : f.dataset.shown; delete f.dataset.typedOver; told(f).replaceChildren(); look(f);
  }
});
document.addEventListener("input", event => { if (event.target.dataset?.at) look(event.target); });
document.addEventListener("change", event => {
  const f = event.target;
  if (f.dataset?.same) { const own = by(f.dataset.same); own.value = f.value; moving = true; write(own).then(() => { moving = false; after(own, own.closest("section")); }); }
  else if (f.dataset?.at && unwritten(f) && !moving) write(f);
});
const folds = new Map(); // what a person folded or unfolded stays so when the page is drawn again
document.addEventListener("click", event => {
  const part = event.target.closest("summary")?.parentElement;
  if (part?.id) folds.set(part.id, !part.open);
  const button = event.target.closest("button");
  if (!button) return;
  const own = by(button.dataset.for || button.dataset.now);
  if (button.dataset.send) press(button);
  else if (button.dataset.now) { own.value = new Date(Date.now() + document.body.dataset.offset * 6e4).toISOString().slice(11, 16); enter(own); }
  else if (button.dataset.write) write(own, JSON.parse(button.dataset.write)).then(ok => ok && after(own, own.closest("section")));
  else if (button.dataset.keep !== undefined) { if (own) own.value = own.dataset.shown; location.reload(); }
  else if (button.dataset.leave !== undefined) { own.value = own.dataset.shown; told(own).replaceChildren(); own.focus(); }
});
window.addEventListener("beforeunload", event => { if (fields().some(unwritten)) event.preventDefault(); });

// What is typed and not written yet outlives the page being drawn again.
let typed = new Map();
document.addEventListener("htmx:before:swap", () => { typed = new Map(fields().filter(unwritten).map(f => [f.id, [f.value, f.dataset.typedOver ?? f.dataset.was]])); });
document.addEventListener("htmx:after:swap", () => {
  for (const f of fields()) if (typed.has(f.id)) [f.value, f.dataset.typedOver] = typed.get(f.id); else if (!f.dataset.origin) f.value = f.dataset.shown; // what came meanwhile is asked about
  for (const [id, open] of folds) if (by(id)) by(id).open = open;
  const again = asks && by("again-" + asks) || page().querySelector("[data-again]:not([data-stands])");
  if (again && !again.value) again.focus();
});
document.addEventListener("asks", event => { asks = event.detail.value; }); // of another entry than the one that was written
document.addEventListener("written", event => {
  const f = by(event.detail.value);
  typed.delete(event.detail.value);
  if (f) { f.value = f.dataset.shown; delete f.dataset.typedOver; }
  done = true;
});

document.addEventListener("DOMContentLoaded", () => {
  const button = by("light");
  const name = () => {
    const sun = document.documentElement.dataset.light === "sun";
    button.textContent = sun ? button.dataset.indoor : button.dataset.sun;
    button.setAttribute("aria-pressed", sun);
  };
  button.addEventListener("click", () => {
    const sun = document.documentElement.dataset.light !== "sun";
    localStorage.setItem("light", sun ? "sun" : "indoor");
    light(sun); name();
  });
  name();
});
window.addEventListener("load", () => setTimeout(() => { // a part that is linked to takes the focus away until now
  const part = location.hash && by(decodeURIComponent(location.hash.slice(1)));
  const first = part && (part.querySelector("[data-wanted]") || part.querySelector("[data-begin]"));
  if (first) first.focus();
}));
document.addEventListener("focusin", event => { const f = event.target; if (f.dataset?.at && f.select && !moving) f.select(); });
