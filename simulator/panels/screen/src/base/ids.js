// Ids for clicks: one that arrives twice acts once.

export function freshId() {
  if (typeof globalThis.crypto?.randomUUID === "function") return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16)); // a page without a secure context has no randomUUID
  return [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
}
