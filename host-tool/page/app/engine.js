// The engine as the page sees it: questions with promised answers, computed in a worker.

/** Text of worker.js, put here by bundle.mjs. */
/* global WORKER_SOURCE */

/** The engine, unpacked from the page itself and compiled once for all workers. @returns {Promise<WebAssembly.Module>} */
export async function unpacked() {
  const packed = document.getElementById("engine")?.textContent ?? "";
  const binary = atob(packed.trim()), bytes = new Uint8Array(binary.length);
  for (let k = 0; k < binary.length; k += 1) bytes[k] = binary.charCodeAt(k);
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return WebAssembly.compile(await new Response(stream).arrayBuffer());
}

/** Tells a worker that is computing to end: it looks whether this address still has something, and hears no message. */
class Lifeline {
  constructor() {
    this.address = URL.createObjectURL(new Blob(["on"]));
  }

  cut() {
    URL.revokeObjectURL(this.address);
  }
}

/** How long a worker may take to hear that it should end, ms. */
const PATIENCE_MS = 2000;

/** @type {string | undefined} where the text of the worker is, for all of them */
let workerAddress;

/** Refused by the engine: a sentence for the user. */
export class Refused extends Error {}

export class Engine {
  /** @param {WebAssembly.Module} module @param {Map<string, Uint8Array>} files that every question may need */
  constructor(module, files) {
    this.module = module;
    this.files = files;
    this.next = 1;
    this.memory = 0;
    /** @type {Lifeline | undefined} of the search that goes on */
    this.lifeline = undefined;
    /** @type {Map<number, { resolve(value: any): void, reject(error: Error): void, progress?(trials: number): void }>} */
    this.waiting = new Map();
    this.start();
  }

  start() {
    workerAddress ??= URL.createObjectURL(new Blob([WORKER_SOURCE], { type: "text/javascript" }));
    this.worker = new Worker(workerAddress);
    this.worker.onmessage = ({ data }) => {
      const waiting = this.waiting.get(data.id);
      if (data.progress !== undefined) {
        waiting?.progress?.(data.progress);
        return;
      }
      this.waiting.delete(data.id);
      if (data.failed) waiting?.reject(new Error(data.failed));
      else waiting?.resolve(data.answer);
    };
    this.ready = this.send({ module: this.module });
    for (const [name, bytes] of this.files) void this.put(name, bytes).catch(() => {});
    // Whoever stops it before it is ready has been told so by `stop`.
    this.ready.catch(() => {});
  }

  /** @param {object} message @param {((trials: number) => void)=} progress @returns {Promise<any>} */
  send(message, progress) {
    const id = this.next;
    this.next += 1;
    return new Promise((resolve, reject) => {
      this.waiting.set(id, { resolve, reject, progress });
      this.worker?.postMessage({ id, ...message });
    });
  }

  /**
   * Asks something of request.rs.
   * @param {object} request @param {((trials: number) => void)=} progress @returns {Promise<any>}
   */
  async ask(request, progress) {
    const lifeline = progress && new Lifeline();
    if (lifeline) this.lifeline = lifeline;
    const { json, memory } = await this.send({ request, lifeline: lifeline?.address }, progress);
    lifeline?.cut();
    if (this.lifeline === lifeline) this.lifeline = undefined;
    this.memory = memory;
    const { ok, error } = JSON.parse(json);
    if (error !== undefined) throw new Refused(error);
    return ok;
  }

  /** Keeps a file for later questions. @param {string} name @param {Uint8Array} bytes */
  put(name, bytes) {
    return this.send({ put: { name, bytes } });
  }

  /** @param {string} name @returns {Promise<Uint8Array>} */
  get(name) {
    return this.send({ get: name });
  }

  /** Ends a search: its promise gives the best so far, or is refused if the worker does not hear. */
  finish() {
    const { lifeline } = this;
    lifeline?.cut();
    setTimeout(() => lifeline && lifeline === this.lifeline && this.stop(), PATIENCE_MS);
  }

  /** Ends whatever is being computed; its promise is refused. */
  stop() {
    this.worker?.terminate();
    this.lifeline = undefined;
    for (const { reject } of this.waiting.values()) reject(new Refused("stopped"));
    this.waiting.clear();
    this.start();
  }
}
