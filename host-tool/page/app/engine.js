// The engine as the page sees it: questions with promised answers, computed in a worker.

/** Text of worker.js, put here by bundle.mjs. */
/* global WORKER_SOURCE */

/** The engine's module, unpacked from the page itself. @returns {Promise<Uint8Array>} */
export async function unpacked() {
  const packed = document.getElementById("engine")?.textContent ?? "";
  const bytes = Uint8Array.from(atob(packed.trim()), (c) => c.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

/** Refused by the engine: a sentence for the user. */
export class Refused extends Error {}

export class Engine {
  /** @param {Uint8Array} module */
  constructor(module) {
    this.module = module;
    this.next = 1;
    this.memory = 0;
    /** @type {Map<number, { resolve(value: any): void, reject(error: Error): void, progress?(trials: number): void }>} */
    this.waiting = new Map();
    this.start();
  }

  start() {
    const address = URL.createObjectURL(new Blob([WORKER_SOURCE], { type: "text/javascript" }));
    this.worker = new Worker(address);
    URL.revokeObjectURL(address);
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
    const { json, memory } = await this.send({ request }, progress);
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

  /** Ends whatever is being computed; its promise is refused. */
  stop() {
    this.worker?.terminate();
    for (const { reject } of this.waiting.values()) reject(new Refused("stopped"));
    this.waiting.clear();
    this.start();
  }
}
