// What is typed into the fields of a desk and not yet heard by the kernel: it stands in its field until it is, whatever
// else the kernel says meanwhile.

export class Typed {
  /** @param {number} heard the last that the kernel has heard: of what was typed before this page stood here, perhaps */
  constructor(heard) {
    this.count = heard;
    this.word = ""; // the field that one goes on typing in
    /** @type {Map<string, { value: string, n: number, sent: boolean, more: boolean }>} */
    this.fields = new Map();
  }

  /**
   * @param {string} field
   * @param {string} value
   */
  put(field, value) {
    this.count += 1;
    this.fields.set(field, { value, n: this.count, sent: false, more: this.word === field });
    this.word = field;
  }

  /**
   * What stands in a field: what was typed last, else what the kernel says.
   * @param {string} field
   * @param {string} said
   */
  textOf(field, said) {
    return this.fields.get(field)?.value ?? said;
  }

  /** What has not been sent yet, each as the kernel takes it; it counts as sent from here on. */
  toSend() {
    const due = [...this.fields].filter(([, typed]) => !typed.sent);
    return due.map(([field, typed]) => {
      typed.sent = true;
      return { field, value: typed.value, n: typed.n, more: typed.more };
    });
  }

  /** @param {number} heard the last that the kernel has heard */
  heard(heard) {
    this.count = Math.max(this.count, heard);
    for (const [field, typed] of this.fields) if (typed.n <= heard) this.fields.delete(field);
  }

  /** The next key begins another word. */
  endWord() {
    this.word = "";
  }
}
