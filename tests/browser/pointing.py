"""What a page of ours looks like under the mouse and with the focus: every control, judged by axe-core while it is so.

JupyterLab has rules of its own for what the mouse is over; they show only there.
"""

from __future__ import annotations

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.browser.axe import GRAVE, RULES
from tests.browser.keys import CONTROLS

_MARK = """(controls) => {
  document.querySelectorAll('[data-pointed]').forEach((one) => delete one.dataset.pointed);
  const all = [...document.querySelectorAll(controls)].filter((one) => one.checkVisibility({ visibilityProperty: true })
    && one.getClientRects().length && !one.disabled && !one.closest('[inert]')
    && (document.querySelector('dialog:modal')?.contains(one) ?? true));
  all.forEach((one, i) => (one.dataset.pointed = String(i)));
  const STATE = /^(aria-(pressed|selected|expanded|disabled|checked|current|invalid)|data-(state|kind)|disabled)$/;
  const look = (one) => {
    const up = [];
    for (let each = one; each && up.length < 5; each = each.parentElement) {
      const states = each.getAttributeNames().filter((name) => STATE.test(name));
      const said = states.map((name) => `${name}=${each.getAttribute(name)}`);
      const ink = getComputedStyle(each);
      const classes = each.className.baseVal ?? each.className;
      up.push([each.tagName, classes, ink.color, ink.backgroundColor, ...said].join(' '));
    }
    return up.join(' < ');
  };
  return all.map((one) => [one.outerHTML.slice(0, 120), look(one)]);
}"""
#: Axe-core on one control, once no colour of it is half-way to another.
_JUDGE = """async ([selector, rules]) => {
  const fades = document.getAnimations().filter((one) => one instanceof CSSTransition);
  await Promise.all(fades.map((one) => one.finished.catch(() => undefined)));
  if (!document.querySelector(selector)) return [];  // drawn anew meanwhile
  const found = await axe.run(selector, { runOnly: { type: 'tag', values: rules }, resultTypes: ['violations'] });
  return found.violations.flatMap((one) => one.nodes.map((node) => ({
    impact: one.impact, id: one.id, says: node.failureSummary.split('\\n').slice(1).join(' ').trim().slice(0, 200),
  })));
}"""


def _judge(page: Page, selector: str) -> list[str]:
    found: list[dict[str, Any]] = page.evaluate(_JUDGE, [selector, RULES])
    return [f"{one['id']}: {one['says']}" for one in found if one["impact"] in GRAVE]


def pointing_faults(page: Page, controls: str = CONTROLS, seen: set[str] | None = None) -> list[str]:
    """The grave findings of every control that ``controls`` (a CSS selector) matches, pointed at and with the focus.

    ``seen`` holds the looks that were judged already: tag, classes, states and inks of a control and of what it lies in.
    What looks the same is judged once.
    """
    seen = set() if seen is None else seen
    page.evaluate(f"() => {{ if (!window.axe) {{ {Axe().axe_script} }} }}")
    marked: list[list[str]] = page.evaluate(_MARK, controls)
    found = []
    for i, (html, look) in enumerate(marked):
        if look in seen:
            continue
        selector = f'[data-pointed="{i}"]'
        control = page.locator(selector)
        if not control.count():  # drawn anew meanwhile
            continue
        control.scroll_into_view_if_needed()
        box = control.bounding_box()
        if box is None:
            continue
        seen.add(look)  # not before: one that was drawn anew has not been judged
        page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        found += [f"mouse over: {each} | {html}" for each in _judge(page, selector)]
        page.mouse.move(0, 0)
        control.evaluate("one => one.focus({ focusVisible: true, preventScroll: true })")
        found += [f"focus: {each} | {html}" for each in _judge(page, selector)]
        control.evaluate("one => one.blur()")
    return found
