// What a page must hold for somebody with a keyboard, a thumb or a screen reader; each check names what fails.
globalThis.reach = (() => {
  const TARGETS = "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex]";
  const name = (e) => `${e.tagName.toLowerCase()} "${(e.getAttribute("aria-label") || e.textContent || e.name || "").trim().slice(0, 40)}"`;
  const shown = (e) => e.checkVisibility({ visibilityProperty: true }) && e.getClientRects().length > 0;
  const targets = () => [...document.querySelectorAll(TARGETS)].filter((e) => shown(e) && !e.disabled && e.tabIndex >= 0);

  function headings() {
    const levels = [...document.querySelectorAll("h1, h2, h3, h4, h5, h6")].filter(shown).map((h) => +h.tagName[1]);
    const found = [];
    if (levels.filter((n) => n === 1).length !== 1) found.push(`headings of the first level: ${levels.filter((n) => n === 1).length}`);
    levels.forEach((n, at) => { if (at && n > levels[at - 1] + 1) found.push(`a heading of level ${n} under one of ${levels[at - 1]}`); });
    return found;
  }

  function landmarks() {
    const found = [];
    if (document.querySelectorAll("main").length !== 1) found.push("not one main part");
    if (!document.title) found.push("no title");
    if (!document.documentElement.lang) found.push("no language");
    const first = targets()[0];
    if (!first?.matches('a[href="#main"]') || !document.getElementById("main")) found.push("no skip link to the main part first");
    return found;
  }

  // A link within a sentence and a mark within a picture (its table has the same links) may be smaller: WCAG 2.5.5.
  const inline = (e) => e.matches("a") && getComputedStyle(e).display === "inline";
  const box = (e) => (e.matches("[type=checkbox], [type=radio]") ? e.closest("label") ?? e : e).getBoundingClientRect();

  function taps() {
    return targets().filter((e) => !inline(e) && !e.closest("svg") && !e.matches("[href='#main']")).flatMap((e) => {
      const { width, height } = box(e);
      return width < 43.9 || height < 43.9 ? [`${name(e)} is ${Math.round(width)} x ${Math.round(height)} px`] : [];
    });
  }

  function keyboard() {
    return targets().flatMap((e) => {
      if (e.tabIndex > 0) return [`${name(e)} has a place of its own in the order`];
      e.focus();
      if (document.activeElement !== e) return [`${name(e)} takes no focus`];
      const style = getComputedStyle(e);
      if (style.outlineStyle === "none" || parseFloat(style.outlineWidth) < 2) return [`${name(e)} does not show its focus`];
      return covered(e) ? [`${name(e)} is covered when it has the focus, by ${covered(e)}`] : [];
    });
  }

  // The middle of what lies on the screen: a long one need not be there whole (WCAG 2.4.11).
  function middle(from, to, edge) {
    const first = Math.max(from, 0), last = Math.min(to, edge);
    return first < last ? (first + last) / 2 : null;
  }

  function covered(e) {
    const r = e.getClientRects()[0], x = middle(r.left, r.right, innerWidth), y = middle(r.top, r.bottom, innerHeight);
    if (x === null || y === null) return "the edge of the screen";
    const top = document.elementFromPoint(x, y);
    return top && (e.contains(top) || top.contains(e)) ? "" : top ? name(top) : "nothing";
  }

  const at = () => `${targets().indexOf(document.activeElement)} ${name(document.activeElement)}`;
  // Of radio buttons of one name Tab stops at one only.
  const stops = () => targets().filter((e) => e.type !== "radio" || e.checked);
  const order = (most) => stops().slice(0, most).map((e) => `${targets().indexOf(e)} ${name(e)}`);

  return { at, order, all: () => [...headings(), ...landmarks(), ...taps(), ...keyboard()] };
})();
