// Makes what is served: `node tools/build.js` writes built/, `node tools/build.js --check` says whether it is stale.
// built/made_from.json keeps the hash of the sources, so that a test without Node can say the same.
import { createHash } from "node:crypto";
import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join, relative, sep } from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";

const SCREEN = join(dirname(fileURLToPath(import.meta.url)), "..");
const BUILT = join(SCREEN, "built");
const RECORD = "made_from.json";
const PAGES = ["bench", "exercise", "lesson", "wall"];
const ENTRIES = [...PAGES.flatMap((name) => [`${name}.js`, `${name}.css`]), "lesson_waits.js"];
/** What the bundles depend on besides the sources. */
const ALSO = ["package-lock.json", "tools/build.js"];

/**
 * SHA-256 over the names and bytes of all sources, names sorted by code point, each part ended by a zero byte.
 * @returns {string}
 */
function sourcesHash() {
  const names = readdirSync(join(SCREEN, "src"), { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => relative(SCREEN, join(entry.parentPath, entry.name)).split(sep).join("/"));
  const hash = createHash("sha256");
  for (const name of [...names, ...ALSO].sort()) {
    hash
      .update(name)
      .update("\0")
      .update(readFileSync(join(SCREEN, name)))
      .update("\0");
  }
  return hash.digest("hex");
}

/**
 * The bundles as bytes by name.
 * @returns {Promise<Map<string, Uint8Array>>}
 */
async function bundles() {
  const made = await build({
    absWorkingDir: SCREEN,
    entryPoints: ENTRIES.map((name) => `src/${name}`),
    outdir: "built",
    bundle: true,
    minify: true,
    format: "esm",
    target: ["chrome105", "firefox110", "safari16"],
    charset: "utf8",
    legalComments: "inline",
    logLevel: "warning",
    write: false,
  });
  const out = new Map(made.outputFiles.map((file) => [relative(BUILT, file.path), file.contents]));
  out.set(RECORD, new TextEncoder().encode(`${JSON.stringify({ sha256: sourcesHash() })}\n`));
  return out;
}

const made = await bundles();
if (process.argv.includes("--check")) {
  const stale = [...made].filter(([name, bytes]) => {
    try {
      return !readFileSync(join(BUILT, name)).equals(bytes);
    } catch {
      return true;
    }
  });
  if (stale.length) {
    console.error(`built/ is stale (${stale.map(([name]) => name).join(", ")}): run npm run build`);
    process.exitCode = 1;
  }
} else {
  for (const [name, bytes] of made) {
    writeFileSync(join(BUILT, name), bytes);
    console.log(`${name.padEnd(16)} ${String(bytes.length).padStart(7)} bytes`);
  }
}
