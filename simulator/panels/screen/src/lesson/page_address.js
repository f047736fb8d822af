// A page of its own made here, to be opened in a new tab and printed: the address lives as long as what links to it.

export class PageAddress {
  constructor() {
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
      this.url = URL.createObjectURL(new Blob([html], { type: "text/html" }));
    }
    return this.url;
  }

  end() {
    if (this.url) URL.revokeObjectURL(this.url);
    this.html = "";
    this.url = "";
  }
}
