// What layout.py looks for on a page; each function gives sentences about our own parts.
(() => {
  // what lies over the page in a layer of its own is all that one sees
  const layer = document.querySelector('dialog:modal');
  const roots = layer ? [layer]
    : [...document.querySelectorAll('.lesson-root, .ex-root')].filter((r) => r.getClientRects().length);
  // what is folded away, transparent or for ears only
  const hidden = (el) => el.closest('.lesson-hidden, .ex-hidden, [hidden]')
    || !el.checkVisibility({ checkOpacity: true, checkVisibilityCSS: true });
  const say = (el) => `${el.localName}.${String(el.className.baseVal ?? el.className).split(' ')[0]} "${el.textContent.trim().slice(0, 40)}"`;
  const floats = (el, root) => {
    for (let n = el; n && n !== root; n = n.parentElement) {
      if (['fixed', 'sticky'].includes(getComputedStyle(n).position)) return true;
    }
    return false;
  };
  const worded = (root) => [...root.querySelectorAll('*')].filter((el) => !hidden(el) && el.getClientRects().length
    && [...el.childNodes].some((c) => c.nodeType === 3 && c.textContent.trim()));
  const boxes = (el) => [...el.childNodes].filter((c) => c.nodeType === 3 && c.textContent.trim()).flatMap((c) => {
    const range = document.createRange();
    range.selectNodeContents(c);
    return [...range.getClientRects()];
  });

  // what of a box is to be seen: what was scrolled out of a list lies over nothing
  const seen = (el, box) => {
    let [left, top, right, bottom] = [box.left, box.top, box.right, box.bottom];
    for (let n = el.parentElement; n; n = n.parentElement) {
      const style = getComputedStyle(n);
      if (style.overflow === 'visible' || style.display === 'contents') continue;
      const frame = n.getBoundingClientRect();
      [left, right] = [Math.max(left, frame.left), Math.min(right, frame.right)];
      [top, bottom] = [Math.max(top, frame.top), Math.min(bottom, frame.bottom)];
    }
    return right > left && bottom > top ? [{ left, top, right, bottom }] : [];
  };

  function overflow() {
    const found = [];
    if (document.documentElement.scrollWidth > innerWidth + 1) found.push('the page scrolls sideways');
    for (const root of roots) {
      const box = root.getBoundingClientRect();
      if (box.right > innerWidth + 1) found.push(`${say(root)} is wider than the window`);
      if (root.scrollWidth > root.clientWidth + 1) found.push(`${say(root)} is wider than its place`);
      for (const el of root.querySelectorAll('button, a, input, select, table, p, h1, h2, h3, li, svg')) {
        if (hidden(el) || !el.getClientRects().length || el.closest('svg') !== (el.localName === 'svg' ? el : null)) continue;
        let scrolls = false;
        for (let n = el.parentElement; n && n !== root; n = n.parentElement) {
          if (['auto', 'scroll'].includes(getComputedStyle(n).overflowX)) scrolls = true;
        }
        const own = el.getBoundingClientRect();
        if (!scrolls && own.width && (own.right > box.right + 1.5 || own.left < box.left - 1.5)) found.push(`${say(el)} sticks out`);
      }
    }
    return [...new Set(found)];
  }

  function cutText() {
    const found = [];
    for (const root of roots) for (const el of worded(root)) {
      if (el.closest('svg')) {
        const picture = el.closest('svg').getBoundingClientRect(), own = el.getBoundingClientRect();
        if (own.left < picture.left - 2 || own.right > picture.right + 2 || own.top < picture.top - 2 || own.bottom > picture.bottom + 2) {
          found.push(`cut by its picture: ${say(el)}`);
        }
        continue;
      }
      for (let n = el; n && n !== root.parentElement; n = n.parentElement) {
        const style = getComputedStyle(n);
        if (style.webkitLineClamp !== 'none') break; // its beginning is shown, all of it at the act one points at
        if (style.display === 'contents') continue; // has no box to cut with
        const across = ['hidden', 'clip'].includes(style.overflowX), down = ['hidden', 'clip'].includes(style.overflowY);
        if (!across && !down) continue;
        const holder = n.getBoundingClientRect();
        for (const box of boxes(el)) {
          if (across && (box.right > holder.right + 1.5 || box.left < holder.left - 1.5)) found.push(`cut at the side: ${say(el)}`);
          if (down && (box.bottom > holder.bottom + 3 || box.top < holder.top - 3)) found.push(`cut above or below: ${say(el)}`);
        }
      }
      if (['BUTTON', 'TD', 'TH', 'SELECT'].includes(el.tagName) && el.scrollWidth > el.clientWidth + 1) found.push(`too wide for its place: ${say(el)}`);
    }
    return [...new Set(found)];
  }

  function overlaps() {
    const found = [];
    const meet = (a, b, by) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > by
      && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > by;
    const compare = (items, by) => {
      items.sort((a, b) => a.box.top - b.box.top);
      for (let i = 0; i < items.length; i += 1) for (let k = i + 1; k < items.length; k += 1) {
        const [a, b] = [items[i], items[k]];
        if (b.box.top > a.box.bottom) break;
        if (a.el.contains(b.el) || b.el.contains(a.el) || !meet(a.box, b.box, by)) continue;
        found.push(`${say(a.el)} lies over ${say(b.el)}`);
      }
    };
    for (const root of roots) {
      const plain = worded(root).filter((el) => !el.closest('svg') && !floats(el, root));
      const controls = [...root.querySelectorAll('button, input, select, a')].filter((el) => !hidden(el) && el.getClientRects().length && !floats(el, root));
      compare([
        ...plain.filter((el) => !el.closest('button, a, option')).flatMap((el) => boxes(el).flatMap((box) => seen(el, box)).map((box) => ({ el, box }))),
        ...controls.flatMap((el) => seen(el, el.getBoundingClientRect()).map((box) => ({ el, box }))),
      ], 3);
      for (const svg of root.querySelectorAll('svg')) {
        compare([...svg.querySelectorAll('text')].filter((el) => !hidden(el) && el.getClientRects().length && el.textContent.trim())
          .map((el) => ({ el, box: el.getBoundingClientRect() })), 4);
      }
    }
    return [...new Set(found)];
  }

  function emptyPanels() {
    const found = [];
    const parts = '.lesson-block, .ex-card, .ex-root section, .lesson-root section, figure, .lesson-root:has(section), .ex-root';
    const shows = (el) => [...el.querySelectorAll('svg, canvas, img, input, select, button, table')].some((n) => n.getClientRects().length)
      || el.innerText.trim();
    for (const el of document.querySelectorAll(parts)) {
      const box = el.getBoundingClientRect();
      if (hidden(el) || box.width < 8 || box.height < 8) continue;
      if (!shows(el)) found.push(`empty: ${say(el)} ${el.dataset.block || el.dataset.part || ''}`);
    }
    for (const el of document.querySelectorAll('.jp-OutputArea-output')) {
      if (/ModelNotFound|Loading widget|Error displaying widget/.test(el.innerText)) found.push(`not drawn: ${el.innerText.slice(0, 60)}`);
    }
    return [...new Set(found)];
  }

  // a box to tick is pressed by its words too; a word in a running text is as high as its line (WCAG 2.2, 2.5.8)
  function smallControls() {
    const found = [];
    for (const root of roots) for (const el of root.querySelectorAll('button, a, input, select, textarea, summary, canvas[tabindex], [role=button]')) {
      if (el.matches('.gloss-word') || hidden(el) || !el.getClientRects().length || getComputedStyle(el).display === 'inline') continue;
      const box = ((el.matches('[type=checkbox], [type=radio]') && el.closest('label')) || el).getBoundingClientRect();
      if (Math.min(box.width, box.height) < 43.5) found.push(`${say(el)} is ${Math.round(box.width)} by ${Math.round(box.height)}`);
    }
    return [...new Set(found)];
  }

  // the name a reader of the screen hears: from its label, its own words, or given
  function nameless() {
    const found = [];
    for (const root of roots) for (const el of root.querySelectorAll('button, a, input, select, textarea, summary, canvas[tabindex], [role=button]')) {
      if (hidden(el) || !el.getClientRects().length) continue;
      const by = (el.getAttribute('aria-labelledby') || '').split(' ').map((id) => id && document.getElementById(id)?.textContent).join(' ');
      const labels = [...(el.labels || [])].map((label) => label.textContent).join(' ');
      const own = el.matches('input, select, textarea') ? '' : el.textContent;
      if (!`${el.getAttribute('aria-label') || ''}${by}${labels}${own}`.trim()) found.push(`no name: ${el.outerHTML.slice(0, 120)}`);
    }
    return found;
  }

  return { overflow, cutText, overlaps, emptyPanels, smallControls, nameless };
})()
