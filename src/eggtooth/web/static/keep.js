// Noting without loading the page again. What was noted is written down in the browser first, then sent in
// order; each thing carries an id made here or by the page, so that what is sent twice is kept once.
// Works over plain http: IndexedDB needs no secure context. Without this file every form still works.

const RETRY_MS = 8000, QUIET_MS = 1200, LATE_MS = 2000;
const told = document.getElementById("told"), told_text = told.querySelector("span");
const undo_button = told.querySelector("button"), waits = document.getElementById("waits");
const words = document.getElementById("words").dataset; // in the reader's language
let sending = false, asked_again = false, away = "", retry_timer = 0, refresh_timer = 0, last = null;

// --- the things that wait, oldest first ---

const opened = new Promise((resolve, reject) => {
  const asked = indexedDB.open("eggtooth", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("waiting", { keyPath: "place", autoIncrement: true });
  asked.onsuccess = () => resolve(asked.result);
  asked.onerror = () => reject(asked.error);
});

async function waiting(mode, act) {
  const store = (await opened).transaction("waiting", mode).objectStore("waiting");
  return new Promise((resolve, reject) => {
    const asked = act(store);
    asked.transaction.oncomplete = () => resolve(asked.result);
    asked.transaction.onerror = asked.transaction.onabort = () => reject(asked.transaction.error);
  });
}

const all = () => waiting("readonly", (s) => s.getAll());
const remove = (place) => waiting("readwrite", (s) => s.delete(place));
const put = (thing) => waiting("readwrite", (s) => s.put(thing));
const undoes = (url) => url.endsWith("/undo");

// --- sending ---

function token() {
  return document.querySelector("input[name=csrfmiddlewaretoken]")?.value ?? "";
}

async function send(thing) {
  const headers = { "Content-Type": "application/x-www-form-urlencoded", Accept: "application/json" };
  const answer = await fetch(thing.url, {
    method: "POST", headers: { ...headers, "X-CSRFToken": token() }, body: thing.body, redirect: "manual",
  });
  const text = await answer.text();
  if (answer.ok) return JSON.parse(text);
  const plainly = answer.headers.get("Content-Type")?.startsWith("text/plain");
  if (answer.status === 400 || (answer.status === 403 && plainly)) return { refused: text };
  throw new Error(String(answer.status));
}

async function flush() {
  if (sending) { asked_again = true; return; }
  sending = true;
  let sent = false;
  clearTimeout(retry_timer);
  try {
    for (let things = await all(); things.some((t) => !t.refused); things = await all()) {
      const next = things.find((t) => !t.refused);
      const answer = await send(next);
      sent = true;
      if (answer.refused) await put({ ...next, refused: answer.refused });
      else await remove(next.place);
      settle(next, answer);
    }
    away = "";
    if (sent) later(); // else a page just opened would be made anew under what was opened on it
  } catch (failed) {
    away = failed.message === "401" ? words.sign : words.waiting;
    retry_timer = setTimeout(flush, asked_again ? 0 : RETRY_MS);
  } finally {
    sending = asked_again = false;
    await count();
  }
}

function settle(thing, answer) {
  const line = document.getElementById(`done-${thing.id}`);
  if (line && answer.refused) {
    line.remove(); // it did not happen: the line is open again
    for (const tap of document.querySelectorAll(`[data-noted="${thing.id}"]`)) back_to_open(tap);
  }
  if (line && answer.said) line.querySelector("span").textContent = answer.said;
  if (last === thing.id && answer.said) tell(answer.said, undoes(thing.url) ? "" : thing.id); // nothing undoes an undo
  if (last === thing.id && answer.refused) told.hidden = true;
  for (const field of document.querySelectorAll("[data-last]")) {
    if (answer.said && thing.mark === field.dataset.last) field.prepend(row(answer.said, thing.id));
  }
}

async function count() {
  const things = await all(), out = things.filter((t) => !t.refused), bad = things.filter((t) => t.refused);
  const late = out.some((t) => Date.now() - t.at > LATE_MS); // else it would flash at every tap
  waits.replaceChildren();
  waits.hidden = !(bad.length || (out.length && (away || late)));
  if (out.length && (away || late)) waits.append(line_of(`${out.length} ${away || words.waiting}`));
  for (const thing of bad) {
    const line = line_of(`${words.refused} ${thing.said}. ${thing.refused}`), dismiss = document.createElement("button");
    dismiss.textContent = words.dismiss;
    dismiss.onclick = async () => { await remove(thing.place); await count(); };
    line.append(dismiss);
    waits.append(line);
  }
}

function line_of(text) {
  const line = document.createElement("p");
  line.textContent = text;
  return line;
}

// --- answering ---

function make_id() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 15) | 64;
  bytes[8] = (bytes[8] & 63) | 128;
  return [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
}

async function keep(url, data, said, mark = "") {
  data.delete("csrfmiddlewaretoken");
  const id = data.get("tap")?.split("|")[0] ?? data.get("key") ?? data.get("id") ?? "";
  const thing = { id, url, body: new URLSearchParams(data).toString(), said, mark, at: Date.now() };
  await put(thing);
  last = id;
  tell(said, undoes(url) ? "" : id);
  flush();
  setTimeout(count, LATE_MS + 100);
}

function tell(said, id) {
  told.hidden = false;
  told_text.textContent = said;
  undo_button.type = "button"; // from here on the script takes back, not the form
  undo_button.hidden = !id;
  undo_button.onclick = () => take_back(id);
}

async function take_back(id) {
  const mine = (await all()).find((t) => t.id === id);
  document.getElementById(`done-${id}`)?.remove();
  for (const line of document.querySelectorAll(`[data-id="${id}"]`)) line.remove();
  for (const tap of document.querySelectorAll(`[data-noted="${id}"]`)) back_to_open(tap);
  if (mine && !sending) {
    await remove(mine.place);
    await count();
    tell(words.back, "");
    return;
  }
  const data = new FormData();
  data.set("id", id);
  await keep("/undo", data, words.back);
}

function back_to_open(line) {
  line.hidden = false;
  line.removeAttribute("data-noted");
}

function row(said, id) {
  const line = document.createElement("li"), text = document.createElement("span"), undo = document.createElement("button");
  line.dataset.id = id;
  text.textContent = said;
  undo.className = "quiet";
  undo.textContent = words.undo;
  undo.type = "button";
  undo.onclick = () => take_back(id);
  line.append(text, undo);
  return line;
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("[data-keep]") || event.defaultPrevented) return;
  event.preventDefault();
  const data = new FormData(form);
  if (event.submitter?.name) data.set(event.submitter.name, event.submitter.value);
  const said = event.submitter?.dataset.said ?? form.dataset.said ?? words.noted;
  if (form.dataset.keep === "line") {
    const line = event.submitter.closest("li"), prey = line.querySelector("[name^=prey-]")?.name;
    for (const name of [...data.keys()]) if (name.startsWith("prey-") && name !== prey) data.delete(name);
    const value = data.get("number");
    const id = data.get("tap").split("|")[0], whole = value ? `${said} ${value}` : said;
    const done = row(whole, id);
    done.id = `done-${id}`;
    done.className = "done";
    line.dataset.noted = id;
    line.before(done);
    if (line.contains(document.activeElement)) document.activeElement.blur(); // else keys would go to what is hidden
    line.hidden = true;
    keep(form.getAttribute("action"), data, whole);
    return;
  }
  data.set("key", make_id());
  keep(form.getAttribute("action"), data, describe(event.submitter?.dataset.says ?? form.dataset.says, data), form.dataset.keep);
  form.reset();
  const first = form.querySelector("[data-first]");
  if (!first) return;
  for (const line of document.querySelectorAll("[data-of]")) if (line.dataset.of === data.get("tag")) line.hidden = true;
  first.value = "";
  first.focus();
});

// One tap on who is due writes the tag and goes on to the number.
document.addEventListener("click", (event) => {
  const chosen = event.target.closest("[data-fill]"), first = document.querySelector("[data-first]");
  if (!chosen || !first) return;
  event.preventDefault();
  first.value = chosen.dataset.fill;
  first.form.elements.value.focus();
});

function describe(says, data) {
  return (says ?? words.noted).replace(/\{(\w+)\}/g, (_, name) => data.get(name) ?? "");
}

// Enter goes from field to field; in the last one it notes.
document.addEventListener("keydown", (event) => {
  const form = event.target.form;
  if (event.key !== "Enter" || !form?.matches("[data-steps]") || event.target.tagName !== "INPUT") return;
  const fields = [...form.querySelectorAll("input:not([type=hidden])")], at = fields.indexOf(event.target);
  if (at < fields.length - 1) {
    event.preventDefault();
    fields[at + 1].focus();
  }
});

// --- the sort of work chosen stands in sight, however narrow the screen ---

function show_sort() {
  const row = document.querySelector("header .sorts"), chosen = row?.querySelector("[aria-current]");
  if (chosen) row.scrollLeft = chosen.offsetLeft - (row.clientWidth - chosen.offsetWidth) / 2;
}

// --- the plan changes: the list is made anew under the thumb without jumping ---

function later() {
  if (!document.querySelector("[data-renews]")) return;
  clearTimeout(refresh_timer);
  refresh_timer = setTimeout(renew, QUIET_MS);
}

async function renew() {
  const typing = document.activeElement?.matches("input") && document.activeElement.value;
  const begun = [...document.querySelectorAll("main [data-by]")].some((f) => f.value && !f.closest("[data-noted]"));
  if (typing || begun || sending || (await all()).some((t) => !t.refused)) return later();
  const answer = await fetch(location.href, { headers: { Accept: "text/html" } }).catch(() => null);
  if (!answer?.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  const next = fresh.querySelector("main"), now = document.querySelector("main");
  if (!next || !now || sending) return;
  const anchor = [...now.querySelectorAll("[data-tub]")].find((s) => s.getBoundingClientRect().bottom > 160);
  const top = anchor?.getBoundingClientRect().top;
  hand_over(now, next);
  now.replaceWith(next);
  fresh.querySelector("header") && document.querySelector("header")?.replaceWith(fresh.querySelector("header"));
  show_sort();
  const same = anchor && next.querySelector(`[data-tub="${CSS.escape(anchor.dataset.tub)}"]`);
  if (same) scrollBy(0, same.getBoundingClientRect().top - top);
}

const why_of = (why) => `${why.closest("[data-tub]")?.dataset.tub} ${why.querySelector("summary")?.textContent}`;

// Lines just answered stay where they were until the page is opened anew, so that nothing jumps away; a why that
// is being read stays open.
function hand_over(now, next) {
  const read = new Set([...now.querySelectorAll("details[open]")].map(why_of));
  for (const why of next.querySelectorAll("details")) if (read.has(why_of(why))) why.open = true;
  let after = null;
  for (const section of now.querySelectorAll("[data-tub]")) {
    const same = next.querySelector(`[data-tub="${CSS.escape(section.dataset.tub)}"]`);
    const done = [...section.querySelectorAll("li.done")];
    if (same) same.querySelector("ul").prepend(...done);
    else if (done.length) {
      section.querySelector("ul").replaceChildren(...done);
      if (after) after.after(section);
      else next.querySelector("[data-tub]")?.before(section);
    }
    after = same ?? (done.length ? section : after);
  }
}

if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js").catch(() => {}); // only where allowed
addEventListener("online", () => { flush(); later(); });
show_sort();
count().then(flush);
