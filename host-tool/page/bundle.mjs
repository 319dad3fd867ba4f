// Joins engine, style and scripts into one page: node bundle.mjs MODULE PAGE
//
// The page loads nothing: the engine is in it, packed, and its policy lets only these scripts and this style run.

import { createHash } from "node:crypto";
import { readFileSync, writeFileSync } from "node:fs";
import { gzipSync } from "node:zlib";
import { build } from "esbuild";

const MAX_BYTES = 4_000_000;
const [modulePath, pagePath] = process.argv.slice(2);
if (!pagePath) {
  console.error("usage: node bundle.mjs MODULE PAGE");
  process.exit(2);
}

const here = new URL("app/", import.meta.url);
const read = (name) => readFileSync(new URL(name, here), "utf8");

async function script(entry, define = {}) {
  const { outputFiles } = await build({
    entryPoints: [new URL(entry, here).pathname],
    bundle: true,
    format: "iife",
    target: "es2023",
    minifySyntax: true,
    minifyWhitespace: true,
    charset: "utf8",
    legalComments: "none",
    write: false,
    define,
  });
  // No text of the script can end its element.
  return outputFiles[0].text.trim().replaceAll("</script", "<\\/script");
}

// The style of the command's pages, as the engine itself gives it.
async function pagesStyle(module) {
  const { instance } = await WebAssembly.instantiate(module, { page: { progress: () => 1 } });
  const { memory, reserve, call } = instance.exports;
  const request = new TextEncoder().encode(JSON.stringify({ ask: "style" }));
  const at = reserve(request.length);
  new Uint8Array(memory.buffer, at, request.length).set(request);
  const answer = BigInt.asUintN(64, call(at, request.length));
  const bytes = new Uint8Array(memory.buffer, Number(answer >> 32n), Number(answer & 0xffffffffn));
  return JSON.parse(new TextDecoder().decode(bytes)).ok;
}

const fingerprint = (text) => `'sha256-${createHash("sha256").update(text).digest("base64")}'`;

const module = readFileSync(modulePath);
const worker = await script("worker.js");
const main = await script("main.js", { WORKER_SOURCE: JSON.stringify(worker) });
const style = (await pagesStyle(module)) + read("app.css");
const policy = [
  "default-src 'none'",
  `script-src ${fingerprint(main)} 'wasm-unsafe-eval'`,
  `style-src ${fingerprint(style)}`,
  "worker-src blob:",
  // A worker looks there whether to go on; no request leaves the page.
  "connect-src blob:",
  "base-uri 'none'",
  "form-action 'none'",
].join("; ");
const parts = { POLICY: policy, STYLE: style, ENGINE: gzipSync(module, { level: 9 }).toString("base64"), SCRIPT: main };
const page = read("page.html").replace(/POLICY|STYLE|ENGINE|SCRIPT/g, (name) => parts[name]);
writeFileSync(pagePath, page);

const bytes = Buffer.byteLength(page);
const kilo = (size) => `${Math.round(size / 1000)} kB`;
console.log(`${pagePath}: ${kilo(bytes)} of at most ${kilo(MAX_BYTES)} (engine ${kilo(module.length)}, packed ${kilo(parts.ENGINE.length)}; scripts ${kilo(main.length)}; style ${kilo(style.length)})`);
if (bytes > MAX_BYTES) {
  console.error("page: it is larger than it may be");
  process.exit(1);
}
