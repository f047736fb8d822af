// A page of its own, or a file, made here: opened in a new tab or kept; the address lives as long as what links to it.

export class PageAddress {
  /** @param {string} [type] of the content */
  constructor(type = "text/html") {
    this.type = type;
    this.html = "";
    this.url = "";
  }

  /**
   * The address of a page with this text; that of the last text is let go.
   * @param {string} html
   */
  of(html) {
    if (this.html !== html) {
      this.end();
      this.html = html;
      this.url = URL.createObjectURL(new Blob([html], { type: this.type }));
    }
    return this.url;
  }

  end() {
    if (this.url) URL.revokeObjectURL(this.url);
    this.html = "";
    this.url = "";
  }
}
