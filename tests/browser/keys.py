"""What keys do on a page of ours: Tab reaches every control and shows it, no key of the notebook hurts a lesson."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page

CONTROLS = ":is(.lesson-root, .ex-root) :is(button, a[href], select, input, textarea, summary, canvas, [tabindex='0'])"

_MARK = """(controls) => {
  const all = [...document.querySelectorAll(controls)].filter((one) => one.checkVisibility({ visibilityProperty: true })
    && one.getClientRects().length && !one.disabled && one.tabIndex >= 0 && !one.closest('[inert]')
    && (document.querySelector('dialog:modal')?.contains(one) ?? true));
  all.forEach((one, i) => (one.dataset.byTab = String(i)));
  return all.map((one) => one.outerHTML.slice(0, 120));
}"""
_AT = """() => {
  const one = document.activeElement;
  if (!one || one.dataset.byTab === undefined) return [null, false];
  const parts = [one, one.closest('label'), one.closest('.ex-dots'), one.parentElement].filter(Boolean);
  const ringed = parts.some((part) => {
    const style = getComputedStyle(part);
    return style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2;
  });
  return [Number(one.dataset.byTab), ringed];
}"""


def tab_faults(page: Page) -> list[str]:
    """Controls that Tab does not reach from the top of the page, or that do not show that they have the focus."""
    wanted: list[str] = page.evaluate(_MARK, CONTROLS)
    ringed: dict[int, bool] = {}
    page.keyboard.press("Shift")  # from here on the page is used by keys
    page.evaluate("() => document.querySelector('[data-by-tab=\"0\"]')?.focus()")
    outside = 0
    for _ in range(len(wanted) + 60):
        at, ring = page.evaluate(_AT)
        if at is None:
            outside += 1
        else:
            ringed[at] = ringed.get(at, False) or ring
        if len(ringed) == len(wanted) or outside > 50:
            break
        page.keyboard.press("Tab")
    return [
        f"not reached: {html}" if i not in ringed else f"no ring: {html}"
        for i, html in enumerate(wanted)
        if not ringed.get(i)
    ]


#: One control of each kind.
_KINDS = """(controls) => {
  const seen = new Set();
  for (const one of document.querySelectorAll(controls)) {
    delete one.dataset.kindOf;
    const where = one.closest('.ex-root') ? 'exercise' : 'lesson';
    const kind = [one.localName, one.type, one.getAttribute('role'), where].join(' ');
    if (seen.has(kind) || !one.getClientRects().length || one.disabled) continue;
    seen.add(kind);
    one.dataset.kindOf = kind;
  }
  return [...seen];
}"""
_NOTEBOOK = """() => ({
  cells: [...document.querySelectorAll('.jp-Cell')].map((one) => one.className.match(/jp-(Code|Markdown|Raw)Cell/)?.[1]),
  dialogs: document.querySelectorAll('.jp-Dialog').length, runs: document.body.dataset.lessonRuns,
  parts: document.querySelectorAll('.lesson-root, .ex-root').length,
})"""
#: One-letter commands of JupyterLab: insert, cut, delete, copy, paste, undo, kinds of cells, interrupt, restart, save.
COMMANDS = ["a", "b", "x", "d", "d", "c", "v", "z", "y", "m", "r", "i", "i", "0", "0", "s", "o", "l"]


def key_faults(page: Page) -> list[str]:
    """What one-letter keys, pressed on a control of each kind, have changed in the notebook behind the lesson."""
    before: dict[str, Any] = page.evaluate(_NOTEBOOK)
    found = []
    for kind in page.evaluate(_KINDS, CONTROLS):
        control = page.locator(f'[data-kind-of="{kind}"]')
        if not control.count():
            continue
        control.first.focus()
        for key in COMMANDS:
            page.keyboard.press(key)
        after = page.evaluate(_NOTEBOOK)
        if after != before:
            found.append(f"{kind}: {before} became {after}")
            before = after
    return found
