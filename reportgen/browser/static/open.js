"use strict";
// The light is this browser's own choice and is set before anything is drawn.
const light = on => { if (on) document.documentElement.dataset.light = "sun"; else delete document.documentElement.dataset.light; };
light(localStorage.getItem("light") === "sun");

const by = id => document.getElementById(id);
const page = () => by("main");
const fields = () => [...page().querySelectorAll("[data-at]")];
const rest = f => f.dataset.carried ?? f.dataset.shown; // what a field shows while nothing is typed in it
const unwritten = f => f.value !== rest(f);
const address = what => { // with the location that is shown: only Enter leads on to another
  const query = new URLSearchParams(location.search), shown = by("profile")?.dataset.location;
  if (shown) query.set("location", shown);
  return location.pathname.replace(/\/$/, "") + "/" + what + (query.size ? "?" + query : "");
};
const told = f => by("m-" + f.id);
const was = f => f.dataset.typedOver ?? f.dataset.was;
const sent = (f, more) => ({ at: f.dataset.at, was: was(f), value: f.value, kind: f.dataset.kind,
  unit: f.dataset.unit, begin: f.dataset.begin || "", field: f.id, onward: f.dataset.onward || "", seen: page().dataset.seen, ...more });
const line = (text, more = "") => Object.assign(document.createElement("p"), { className: "refused" + more, textContent: text });
const spill = (keys, place) => { // what was typed and has no field to go to is shown, never dropped and never put elsewhere
  const text = keys.map(key => key === "Enter" ? " \u23ce " : key === "Stop" ? "" : key).join("").trim();
  if (text.replaceAll("\u23ce", "").trim()) (place || by("told")).append(line(document.body.dataset.kept + " " + text, " kept"));
};

// One answer after another. `queued` is what was sent of which field and is not answered yet, `under` what is being answered.
let chain = Promise.resolve(), done = false, under = {};
const queued = new Map(), denied = new Map(); // `denied`: what was asked about or refused, and is not sent again by itself
const send = (values, target) => {
  chain = chain.then(async () => {
    const given = values();
    done = !given;
    under = given || {};
    if (given) await htmx.ajax("POST", address("write"), { source: "#writer", target: target(), swap: "innerHTML", values: given });
    return done;
  }).catch(() => false).finally(() => { if (queued.get(under.field) === under.value) queued.delete(under.field); under = {}; });
  return chain;
};
document.addEventListener("htmx:error", event => { // nobody answers: what was typed stays in its field, and the page says so
  const ctx = event.detail.ctx, own = ctx?.sourceElement?.matches?.("form.sign") && ctx.sourceElement.querySelector("[role=alert]");
  const places = ctx && !ctx.response ? own ? [own] : [by("told"), ctx.sourceElement?.id === "writer" && ctx.target] : [];
  for (const place of places) if (place?.replaceChildren) place.replaceChildren(line(document.body.dataset[own ? "undone" : "lost"]));
  if (own && places.length) own.scrollIntoView({ block: "nearest" });
});
document.addEventListener("htmx:before:response", event => { // what leads on to another page was written: nothing is lost by leaving
  const f = event.detail.ctx.hx?.redirect && by(under.field);
  if (f) f.value = rest(f);
});
// Place and text are taken now; only what the place said before is read when its turn comes, as an answer may have changed it.
const write = (f, more) => {
  const given = (more || unwritten(f) || f.dataset.carried) && sent(f, more), now = () => by(f.id) || f;
  if (!given || !more && queued.get(f.id) === f.value) return given ? chain : send(() => null);
  queued.set(f.id, f.value);
  const replaced = () => f.tagName === "SELECT" && queued.get(f.id) !== given.value;
  return send(() => !replaced() && { ...given, was: was(now()), seen: page().dataset.seen, ...more }, () => told(now()))
    .then(ok => { if (ok) denied.delete(f.id); else denied.set(f.id, given.value); return ok; });
};

const unfold = f => { for (let part = f?.closest("main details"); part; part = part.parentElement.closest("details")) part.open = true; };
const after = (f, section, typed) => {
  // a number typed after a reading is the next reading: never the size of what was blasted
  const size = each => f.dataset.live === "live" && each.dataset.at?.endsWith("/cleaned");
  const wanted = [...page().querySelectorAll("[data-wanted]")].filter(each => each !== f && !size(each));
  const later = each => f.compareDocumentPosition(each) & Node.DOCUMENT_POSITION_FOLLOWING;
  const within = each => section && section.contains(each);
  const beyond = each => section && section.compareDocumentPosition(each) & Node.DOCUMENT_POSITION_FOLLOWING;
  const seen = each => later(each) && each.checkVisibility();
  const row = f.isConnected && !f.dataset.begin && f.closest("[data-log] .row-of"); // an entry of a log is gone through as it stands on the page, folded by now or not
  const blank = row && fields().find(each => each.closest("details") === row && later(each) && !each.value && each.tagName !== "TEXTAREA");
  // a reading leads to those that are still wanted before the profile is left
  const here = typed && section?.id === "profile" && (f.isConnected && wanted.find(each => within(each) && later(each)) || wanted.find(within));
  const further = !here && f.isConnected && section?.id === "profile" && !wanted.find(each => within(each) && later(each)) && section.querySelector("[data-onward]");
  const next = blank || here || further || (f.isConnected && !f.dataset.begin ? wanted.find(later) : wanted.find(within) || wanted.find(beyond)) || wanted[0];
  const again = section?.dataset.log !== undefined && section.querySelector("[data-begin]"); // a log goes on where it is
  unfold(next);
  return next || again !== f && again || document.querySelector("main a.next") || document.querySelector("#margin a, #foot summary, main a.first")
    || fields().find(seen) || page();
};
const before = f => {
  const all = fields(), at = all.indexOf(f);
  if (at > 0) all[at - 1].focus();
};

// While Enter waits for its answer, what is typed belongs to the next field and is held; whoever goes elsewhere meanwhile
// types there, and no answer takes the focus from them.
let held = null, ours = false;
const go = f => { ours = true; f.focus(); ours = false; };
const lead = async (own, f, wrote, typed) => {
  const section = f.closest("section")?.id;
  if (!own.gone) held = own;
  const written = await wrote;
  if (held === own) held = null;
  if (!written) {
    const question = by("again-" + f.id); // one about another entry stands there, and takes the focus from nobody
    spill(own.keys, question?.closest("[aria-live]") || by("m-" + f.id));
    if (!own.gone && question) go(question);
    else if (document.activeElement === document.body) by(f.id)?.focus(); // what had the focus was answered and is gone
    if (!own.gone && document.activeElement === by(f.id)) by(f.id)?.select?.(); // the next typing takes the place of what was refused
    return;
  }
  const next = after(by(f.id) || f, by(section), typed);
  if (!own.gone) go(next);
  replay(next, own, by("m-" + f.id));
};
const enter = (f, own = { keys: [], gone: false }) => {
  const from = f.dataset.again ? by(f.dataset.again) : f;
  if (from !== f) from.value = f.value;
  const typed = unwritten(from);
  from.dataset.onward = "yes";
  const wrote = write(from);
  delete from.dataset.onward;
  return lead(own, from, wrote, typed);
};
const pressing = new Set();
const press = async (button, own = { keys: [], gone: false }) => { // one that is next in the order of entry leads on, as Enter does
  const what = button.dataset.send, section = button.closest("section")?.id;
  if (pressing.has(what)) return; // it acts once
  pressing.add(what);
  const wrote = send(() => ({ ...JSON.parse(what), seen: page().dataset.seen }), () => "#told").finally(() => pressing.delete(what));
  if (button.dataset.wanted !== undefined) return lead(own, button, wrote);
  if (await wrote && document.activeElement === document.body) go(after(button, by(section)));
};
const replay = (f, own, place) => {
  const picks = f.tagName === "SELECT";
  let begun = "", key;
  if (own.keys.length && own.gone) f.setSelectionRange?.(0, f.value.length);
  while ((key = own.keys[0])) {
    if (key === "Enter" && (f.dataset.at || f.dataset.again)) { own.keys.shift(); return enter(f, own); }
    if (key === "Enter" && f.dataset.send) { own.keys.shift(); return press(f, own); }
    const option = picks && [...f.options].find(each => each.text.toLowerCase().startsWith(begun + key.toLowerCase()));
    if (key.length > 1 || !f.dataset.at || picks && !option) break;
    own.keys.shift();
    if (picks) { begun += key.toLowerCase(); f.value = option.value; }
    else { f.setRangeText(key, f.selectionStart, f.selectionEnd, "end"); f.dispatchEvent(new Event("input", { bubbles: true })); }
  }
  if (begun) f.dispatchEvent(new Event("change", { bubbles: true }));
  if (own.keys.join() === "Enter" && !own.gone) f.click();
  else spill(own.keys.splice(0), told(f) || place);
};
const holds = event => {
  const last = held.keys.at(-1), plain = event.getModifierState("AltGraph") || !event.ctrlKey && !event.altKey && !event.metaKey;
  if (!plain || event.key === "Enter" && event.shiftKey) return false;
  if (event.key.length === 1 || event.key === "Enter") held.keys.push(event.key);
  else if (event.key === "Escape") held.keys.splice(held.keys.lastIndexOf("Enter") + 1);
  else if (event.key === "Backspace") { if (last !== "Enter") held.keys.pop(); }
  else if (/^(Arrow|Home|End|Delete)/.test(event.key)) { if (last?.length === 1) held.keys.push("Stop"); }
  else return false;
  return true;
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
  if (held && !held.gone && holds(event)) { event.preventDefault(); return; }
  if (!f.dataset || !(f.dataset.at || f.dataset.again)) return;
  if (event.key === "Enter" && event.shiftKey) { event.preventDefault(); before(f); }
  else if (event.key === "Enter") { event.preventDefault(); enter(f); }
  else if (event.key === "Escape" && f.dataset.at) { f.value = rest(f); delete f.dataset.typedOver; told(f).replaceChildren(); look(f); }
});
document.addEventListener("paste", event => {
  if (held && !held.gone) { event.preventDefault(); held.keys.push(...event.clipboardData.getData("text").replace(/\s+/g, " ")); }
});
document.addEventListener("pointerdown", event => {
  if (held && event.target.closest?.("input, select, textarea, button, a, summary, label")) held.gone = true;
});
document.addEventListener("focusin", event => {
  const f = event.target;
  if (held && !ours && f !== page()) held.gone = true;
  if (f.dataset?.at && f.select) f.select();
});
document.addEventListener("input", event => {
  const f = event.target;
  f.form?.querySelector("[role=alert]")?.replaceChildren(); // it was said of what stood there before
  if (!f.dataset?.at) return;
  for (const each of told(f).querySelectorAll(":scope > .ask:not(:has([data-stands])), :scope > .refused:not(.kept)")) each.remove();
  look(f);
});
document.addEventListener("change", event => {
  const f = event.target, own = f.dataset?.same && by(f.dataset.same);
  if (own) { own.value = f.value; lead({ keys: [], gone: false }, own, write(own)); }
  else if (f.dataset?.at && unwritten(f) && denied.get(f.id) !== f.value) write(f);
});
const folds = new Map(); // what a person folded or unfolded stays so when the page is drawn again
document.addEventListener("click", event => {
  const part = event.target.closest("summary")?.parentElement;
  if (part?.id) folds.set(part.id, !part.open);
  const button = event.target.closest("button");
  if (!button) return;
  const own = by(button.dataset.for || button.dataset.now);
  if (button.dataset.send) { if (event.detail < 2 || JSON.parse(button.dataset.send).undo) press(button); }
  else if (button.dataset.now) { own.value = new Date(Date.now() + document.body.dataset.offset * 6e4).toISOString().slice(11, 16); enter(own); }
  else if (button.dataset.write) lead({ keys: [], gone: false }, own, write(own, JSON.parse(button.dataset.write)));
  else if (button.dataset.keep !== undefined) { if (own) own.value = own.dataset.shown; location.reload(); }
  else if (button.dataset.leave !== undefined && !own) button.closest(".ask").remove();
  else if (button.dataset.leave !== undefined) { own.value = own.dataset.shown; told(own).replaceChildren(); own.focus(); }
});
window.addEventListener("beforeunload", event => { if (held?.keys.length || fields().some(unwritten)) event.preventDefault(); });

// What is typed and not written yet outlives the page being drawn again, with its caret, its question and the focus.
let typed = new Map(), spot = {};
document.addEventListener("htmx:before:swap", () => {
  const f = document.activeElement, open = each => [...told(each).querySelectorAll(":scope > .ask:not(:has([data-stands])), :scope > .refused")];
  typed = new Map(fields().filter(unwritten).map(each => [each.id, { value: each.value, over: was(each), told: open(each) }]));
  spot = { id: f.id, start: f.selectionStart, end: f.selectionEnd };
});
document.addEventListener("htmx:before:settle", event => { // in the same turn as the swap: no key comes between
  if (event.target !== page()) return;
  done = true;
  for (const f of fields()) {
    const own = typed.get(f.id), same = f.id === under.field && own?.value === under.value;
    typed.delete(f.id);
    delete f.dataset.typedOver;
    if (!own || same) { f.value = rest(f); continue; }
    f.value = own.value;
    if (f.id !== under.field) { f.dataset.typedOver = own.over; if (own.told.length) told(f).replaceChildren(...own.told); } // what came meanwhile is asked about
  }
  for (const [id, own] of typed) if (id !== under.field) spill([own.value]);
  for (const [id, open] of folds) if (by(id)) by(id).open = open;
  const f = by(spot.id);
  if (!held || held.gone) unfold(f); // an entry that is whole by now folds behind who leaves it, not around who is in it
  if (f && document.activeElement === document.body) go(f);
  if (f && document.activeElement === f && spot.start != null) f.setSelectionRange(spot.start, spot.end);
});
document.addEventListener("htmx:after:swap", event => {
  const form = event.detail.ctx.sourceElement?.closest?.("form"); // a passphrase has done its work where nothing was refused
  if (form && !event.detail.ctx.target.querySelector?.(".refused")) for (const each of form.querySelectorAll("[type=password]")) each.value = "";
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
