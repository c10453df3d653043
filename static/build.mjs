// Builds the front end into dist/: hashed scripts and styles, the page, the manifest, the icons, the service worker.
import { createHash } from "node:crypto";
import { existsSync } from "node:fs";
import { mkdir, readFile, rm, writeFile } from "node:fs/promises";
import { dirname, join, relative } from "node:path";
import { fileURLToPath } from "node:url";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";
import { build } from "esbuild";
import { iconPng, iconSvg } from "./tools/icons.mjs";

const HERE = dirname(fileURLToPath(import.meta.url));
const DIST = join(HERE, "dist");
const GROUND = "#EEEFEC";
const { version } = JSON.parse(await readFile(join(HERE, "package.json"), "utf8"));

/** @typedef {Map<string, Buffer>} Files  path below dist/ -> bytes */

/** Bundle the app; what is imported lazily becomes a chunk of its own. */
async function bundleApp(/** @type {Files} */ files) {
  const result = await build({
    entryPoints: { app: join(HERE, "src/app.js") },
    outdir: join(DIST, "assets"),
    entryNames: "[name]-[hash]",
    chunkNames: "[name]-[hash]",
    assetNames: "[name]-[hash]",
    bundle: true, splitting: true, minify: true, metafile: true, write: false,
    format: "esm", target: ["es2022", "safari16"], legalComments: "none",
    define: { __APP_VERSION__: JSON.stringify(version) },
    absWorkingDir: HERE, logLevel: "warning",
  });
  for (const file of result.outputFiles) files.set(webPath(file.path), Buffer.from(file.contents));
  const outputs = Object.entries(result.metafile.outputs);
  const entry = outputs.find(([, output]) => output.entryPoint === "src/app.js");
  if (!entry) throw new Error("esbuild gave no output for src/app.js");
  const [script, output] = entry;
  return {
    script: webPath(join(HERE, script)),
    styles: output.cssBundle ? webPath(join(HERE, output.cssBundle)) : null,
    preloads: staticImports(result.metafile, script).map((path) => webPath(join(HERE, path))),
  };
}

/** Every chunk that the entry needs before it can run, so that the browser asks for them all at once. */
function staticImports(/** @type {import("esbuild").Metafile} */ metafile, /** @type {string} */ start) {
  const found = new Set();
  const queue = [start];
  for (let path = queue.pop(); path; path = queue.pop()) {
    for (const one of metafile.outputs[path].imports) {
      if (one.kind !== "import-statement" || one.external || found.has(one.path)) continue;
      found.add(one.path);
      queue.push(one.path);
    }
  }
  return [...found];
}

function webPath(/** @type {string} */ path) {
  return relative(DIST, path).replaceAll("\\", "/");
}

/** The page, with the hashed names filled in. */
async function page(/** @type {Awaited<ReturnType<typeof bundleApp>>} */ app) {
  const template = await readFile(join(HERE, "src/index.html"), "utf8");
  const head = [
    ...(app.styles ? [`<link rel="stylesheet" href="/${app.styles}">`] : []),
    ...app.preloads.map((path) => `<link rel="modulepreload" href="/${path}">`),
    `<script type="module" src="/${app.script}"></script>`,
  ];
  if (!template.includes("<!-- built -->")) throw new Error("src/index.html has lost its <!-- built --> line");
  return Buffer.from(template.replace("<!-- built -->", head.join("\n    ")));
}

function manifest() {
  const icon = (/** @type {number} */ size, /** @type {string} */ purpose) => ({
    src: `/icons/${purpose === "maskable" ? "full" : "icon"}-${size}.png`,
    sizes: `${size}x${size}`, type: "image/png", purpose,
  });
  return Buffer.from(JSON.stringify({
    id: "/", name: "Wayround", short_name: "Wayround", start_url: "/", scope: "/", display: "standalone",
    description: "What is fit to start, what is due, and the record of it.",
    background_color: GROUND, theme_color: GROUND, lang: "en",
    icons: [icon(192, "any"), icon(512, "any"), icon(512, "maskable"),
      { src: "/icons/icon.svg", sizes: "any", type: "image/svg+xml", purpose: "any" }],
  }, null, 1));
}

function addIcons(/** @type {Files} */ files) {
  files.set("icons/icon.svg", Buffer.from(iconSvg()));
  files.set("icons/icon-192.png", iconPng(192, "card"));
  files.set("icons/icon-512.png", iconPng(512, "card"));
  files.set("icons/full-512.png", iconPng(512, "full"));
  files.set("icons/full-180.png", iconPng(180, "full"));
}

const digest = (/** @type {string | Buffer} */ data) => createHash("sha256").update(data).digest("hex");

/** The service worker: its list and its version come from the files themselves, never from a list kept by hand. */
async function serviceWorker(/** @type {Files} */ files) {
  const hashed = /^assets\/.*-[A-Z0-9]{8}\.\w+$/;
  const list = [...files].map(([path, bytes]) => (
    { url: `/${path}`, revision: hashed.test(path) ? null : digest(bytes).slice(0, 16) }
  )).sort((a, b) => (a.url < b.url ? -1 : 1));
  const shell = digest([...files].map(([path, bytes]) => `${path} ${digest(bytes)}`).sort().join("\n")).slice(0, 16);
  const result = await build({
    entryPoints: [join(HERE, "src/sw.js")], bundle: true, minify: true, write: false, format: "iife",
    target: ["es2022", "safari16"], legalComments: "none", logLevel: "warning",
    define: {
      __PRECACHE__: JSON.stringify(list), __SHELL__: JSON.stringify(shell),
      "process.env.NODE_ENV": '"production"',
    },
  });
  return Buffer.from(result.outputFiles[0].contents);
}

async function write(/** @type {Files} */ files) {
  await rm(DIST, { recursive: true, force: true });
  for (const [path, bytes] of files) {
    const target = join(DIST, path);
    await mkdir(dirname(target), { recursive: true });
    await writeFile(target, bytes);
    if (!/\.(js|css|html|svg|webmanifest)$/.test(path) || bytes.length < 1024) continue;
    await writeFile(`${target}.gz`, gzipSync(bytes, { level: 9 }));
    await writeFile(`${target}.br`, brotliCompressSync(bytes, { params: { [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length } }));
  }
}

function report(/** @type {Files} */ files, /** @type {string[]} */ first) {
  const size = (/** @type {string} */ path) => gzipSync(files.get(path) ?? "", { level: 9 }).length;
  const total = first.reduce((sum, path) => sum + size(path), 0);
  console.log(`built ${files.size} files; first load ${(total / 1024).toFixed(1)} KiB of script, compressed`);
}

if (!existsSync(join(HERE, "src/app.js"))) throw new Error("src/app.js is missing");
/** @type {Files} */
const files = new Map();
const app = await bundleApp(files);
files.set("index.html", await page(app));
files.set("manifest.webmanifest", manifest());
addIcons(files);
files.set("sw.js", await serviceWorker(files));
await write(files);
report(files, [app.script, ...app.preloads]);
