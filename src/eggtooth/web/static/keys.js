// Keys for a desk: from line to line of the round, answering, taking back, to an animal. Off while typing, and
// off altogether where the list of keys says so (a screen reader or voice may need the letters itself).

const show = document.getElementById("keys-show");
const OPEN = "main .tub > ul > li:not(.done):not([hidden])";
let place = null; // the line last gone to: its tub, its words and how many open lines stood before it

const lines = () => [...document.querySelectorAll(OPEN)];
const words = (line) => line.querySelector(".what")?.textContent.trim();
const tub = (line) => line.closest("[data-tub]").dataset.tub;

// The list is made anew under the reader; a line is known again by its tub and words, else by where it stood.
function here() {
  const all = lines(), inside = document.activeElement?.closest?.(OPEN);
  if (inside) return all.indexOf(inside);
  if (!place) return -1;
  return all.findIndex((line) => tub(line) === place.tub && words(line) === place.words);
}

function go(to) {
  const all = lines(), line = all[Math.max(0, Math.min(to, all.length - 1))];
  if (!line) return;
  line.tabIndex = -1;
  line.focus();
  place = { tub: tub(line), words: words(line), at: all.indexOf(line) };
}

const step = (by) => {
  const at = here();
  if (at >= 0) go(at + by);
  else go(place ? place.at + (by > 0 ? 0 : by) : 0);
};

function answer(number) {
  const line = lines()[here()], tap = line?.querySelectorAll(".taps > *")[number - 1];
  if (!tap) return false;
  if (tap.matches("form")) tap.querySelector("input:not([type=hidden])").focus();
  else {
    place = { tub: tub(line), words: words(line), at: here() };
    tap.click();
    if (line.hidden) go(place.at); // it is noted, and the next line has moved up
  }
  return true;
}

function why() {
  const more = lines()[here()]?.querySelector("details");
  if (more) more.open = !more.open;
  return Boolean(more);
}

function take_back() {
  const undo = document.querySelector("#told:not([hidden]) button:not([hidden])");
  undo?.click();
  return Boolean(undo);
}

// The lists of keys and of tags come into the page only when they are asked for.
function open(id) {
  if (!document.getElementById(id)) document.body.append(document.getElementById("keyed").content.cloneNode(true));
  const on = document.getElementById("keys-on");
  on.checked = are_on();
  on.onchange = () => localStorage.setItem("keys", on.checked ? "on" : "off");
  document.getElementById(id).showModal();
}

const are_on = () => localStorage.getItem("keys") !== "off";

const KEYS = {
  j: () => step(1), ArrowDown: () => step(1), k: () => step(-1), ArrowUp: () => step(-1),
  w: why, u: take_back, "/": () => open("jump"), "?": () => open("keys"),
};

const typing = (target) => target.closest?.("input, select, textarea, dialog, [contenteditable]");

document.addEventListener("keydown", (event) => {
  if (!are_on() || event.ctrlKey || event.metaKey || event.altKey || event.isComposing || typing(event.target)) return;
  const act = /^[1-9]$/.test(event.key) ? () => answer(+event.key) : KEYS[event.key];
  if (!act || (/^(j|k|Arrow)/.test(event.key) && !lines().length)) return;
  if (act() !== false) event.preventDefault();
});

// The list was made anew: the line gone to last has the focus again, unless something else was taken up since.
new MutationObserver(() => {
  const line = lines()[place ? here() : -1];
  if (!line || document.activeElement !== document.body) return;
  line.tabIndex = -1;
  line.focus({ preventScroll: true });
}).observe(document.body, { childList: true });

show.hidden = false;
show.addEventListener("click", () => open("keys"));
