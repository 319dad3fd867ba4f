// The engine in WebAssembly beside the command: both predict the same frames, and every movement agrees to the four
// decimals of a millimetre that the command prints.
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { basename } from "node:path";

const ROUNDED_MM = 0.5e-4 + 1e-9;
const [module, command, ...jobs] = process.argv.slice(2);

const bytes = readFileSync(module);
const { instance } = await WebAssembly.instantiate(bytes, {});
const engine = instance.exports;

/** What the engine predicts in WebAssembly: movement in mm by the name of the measure. */
function inBrowser(text) {
  const job = new TextEncoder().encode(text);
  const start = engine.reserve(job.length);
  new Uint8Array(engine.memory.buffer, start, job.length).set(job);
  const answer = BigInt.asUintN(64, engine.predict(start, job.length));
  const [at, length] = [Number(answer >> 32n), Number(answer & 0xffffffffn)];
  const lines = new TextDecoder().decode(new Uint8Array(engine.memory.buffer, at, length).slice());
  engine.release(at, length);
  return new Map(
    lines
      .trim()
      .split("\n")
      .map((line) => line.split("\t"))
      .map(([name, value]) => [name, Number(value)]),
  );
}

/** The same by the command. */
function byCommand(job) {
  const printed = execFileSync(command, ["predict", job, "--json"], { maxBuffer: 1 << 28, encoding: "utf8" });
  return new Map(JSON.parse(printed).measures.map((one) => [one.name, one.change_mm.value]));
}

let compared = 0;
for (const job of jobs) {
  const [ours, theirs] = [inBrowser(readFileSync(job, "utf8")), byCommand(job)];
  if (ours.size !== theirs.size || ours.size === 0) {
    throw new Error(`${basename(job)}: ${ours.size} measures in the browser, ${theirs.size} by the command`);
  }
  for (const [name, value] of theirs) {
    const difference = Math.abs(ours.get(name) - value);
    if (!(difference <= ROUNDED_MM)) {
      throw new Error(`${basename(job)}: ${name} is ${ours.get(name)} mm in the browser, ${value} mm by the command`);
    }
    compared += 1;
  }
}
console.log(
  `browser-engine: ${(bytes.length / 1e6).toFixed(1)} MB; ${compared} movements of ${jobs.length} frames agree with the ` +
    "command to 0.0001 mm",
);
