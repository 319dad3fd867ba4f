// The engine in a worker of its own: takes requests, answers them one after the other, reports the progress of a search.

/**
 * What the engine's module offers; see border.rs.
 * @typedef {{ memory: WebAssembly.Memory, reserve(length: number): number, release(start: number, length: number): void,
 *   call(start: number, length: number): bigint, get(start: number, length: number): bigint,
 *   put(name: number, nameLength: number, start: number, length: number): void }} Exports
 */

/** @type {Exports | undefined} */
let engine;
let current = 0;
let lastReport = 0;
/** @type {string | undefined} where the page says whether to go on */
let lifeline;

/** Whether there is something at the lifeline. A worker that computes hears no message, but it may look there. */
function alive() {
  if (!lifeline) return true;
  const look = new XMLHttpRequest();
  try {
    look.open("GET", lifeline, false);
    look.send();
    return true;
  } catch {
    return false;
  }
}

/** @param {Uint8Array} bytes @returns {[number, number]} */
function handedOver(bytes) {
  const at = /** @type {Exports} */ (engine).reserve(bytes.length);
  new Uint8Array(/** @type {Exports} */ (engine).memory.buffer, at, bytes.length).set(bytes);
  return [at, bytes.length];
}

/** The bytes of an answer: its address is in the upper 32 bits, its length in the lower. @param {bigint} answer */
function taken(answer) {
  const unsigned = BigInt.asUintN(64, answer);
  const [at, length] = [Number(unsigned >> 32n), Number(unsigned & 0xffffffffn)];
  const { memory, release } = /** @type {Exports} */ (engine);
  const bytes = new Uint8Array(memory.buffer, at, length).slice();
  release(at, length);
  return bytes;
}

const text = { encoder: new TextEncoder(), decoder: new TextDecoder() };

const page = {
  /** @param {number} trials */
  progress(trials) {
    const now = performance.now();
    if (now - lastReport < 100) return 1;
    lastReport = now;
    postMessage({ id: current, progress: trials });
    return alive() ? 1 : 0;
  },
};

/** @param {any} message */
async function answer({ module, request, put, get, lifeline: address }) {
  if (module) {
    const instance = await WebAssembly.instantiate(/** @type {WebAssembly.Module} */ (module), { page });
    engine = /** @type {Exports} */ (/** @type {unknown} */ (instance.exports));
    return true;
  }
  const { call, put: keep, get: kept, memory } = /** @type {Exports} */ (engine);
  if (put) {
    keep(...handedOver(text.encoder.encode(put.name)), ...handedOver(put.bytes));
    return true;
  }
  if (get !== undefined) return taken(kept(...handedOver(text.encoder.encode(get))));
  // A browser that does not let a worker look there is not asked.
  lifeline = address;
  if (!alive()) lifeline = undefined;
  const bytes = taken(call(...handedOver(text.encoder.encode(JSON.stringify(request)))));
  return { json: text.decoder.decode(bytes), memory: memory.buffer.byteLength };
}

/** @param {any} data */
async function handle(data) {
  current = data.id;
  try {
    postMessage({ id: data.id, answer: await answer(data) });
  } catch (error) {
    postMessage({ id: data.id, failed: String(error) });
  }
}

// One after the other: the first message brings the engine, and preparing it takes a moment.
let last = Promise.resolve();
onmessage = ({ data }) => {
  last = last.then(() => handle(data));
};
