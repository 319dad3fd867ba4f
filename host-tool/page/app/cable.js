// The cable to a logger over Web Serial: bytes out, bytes in, asked again when nothing comes. What they mean, the engine
// knows.

const PATIENCE_MS = 400, TRIES = 8;

/** @param {string} text */
const bytesOf = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
/** @param {Uint8Array} bytes */
const textOf = (bytes) => btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));

/** Whether this browser can talk to a logger. */
export const hasSerial = () => "serial" in navigator;

export class Cable {
  /** @param {import("./engine.js").Engine} engine @param {any} port an open port of Web Serial */
  constructor(engine, port) {
    this.engine = engine;
    this.writer = port.writable.getWriter();
    this.reader = port.readable.getReader();
    this.port = port;
    /** @type {any[]} */
    this.replies = [];
    /** @type {(() => void) | null} */
    this.woken = null;
    this.open = true;
    this.listening = this.listen();
  }

  /** @param {import("./engine.js").Engine} engine */
  static async connect(engine) {
    const port = await /** @type {any} */ (navigator).serial.requestPort();
    await port.open({ baudRate: 115200 });
    await engine.ask({ ask: "link", message: "open" });
    return new Cable(engine, port);
  }

  async listen() {
    try {
      while (this.open) {
        const { value, done } = await this.reader.read();
        if (done) break;
        const { replies } = await this.engine.ask({ ask: "link", message: "came", bytes: textOf(value) });
        this.replies.push(...replies);
        this.woken?.();
      }
    } catch {
      // The cable was pulled.
    }
    this.open = false;
    this.woken?.();
  }

  /** The next reply, or null when none comes in time. */
  async next() {
    if (this.replies.length) return this.replies.shift();
    await new Promise((resolve) => {
      const timer = setTimeout(() => resolve(null), PATIENCE_MS);
      this.woken = () => {
        clearTimeout(timer);
        resolve(null);
      };
    });
    this.woken = null;
    return this.replies.shift() ?? null;
  }

  /** @param {string} message */
  async send(message) {
    this.replies = [];
    const { send } = await this.engine.ask({ ask: "link", message });
    await this.writer.write(bytesOf(send));
  }

  /** Asks until there is an answer. @param {"identify" | "live"} message */
  async ask(message) {
    for (let k = 0; k < TRIES && this.open; k += 1) {
      await this.send(message);
      const reply = await this.next();
      if (reply) return reply;
    }
    throw new Error(this.open ? "no answer; check that this is a logger, that it is switched on, and that no other program uses the port" : "the cable was pulled");
  }

  /** Fetches the whole log; resumes what is lost on the way. @param {(bytes: number) => void} tell */
  async pull(tell) {
    let silent = 0;
    while (this.open && silent < TRIES) {
      await this.send("pull");
      let reply = await this.next();
      if (!reply) silent += 1;
      while (reply) {
        silent = 0;
        if (reply.is === "refused") throw new Error(reply.why);
        tell(reply.bytes);
        if (reply.ended) return;
        if (reply.ask_again) break;
        reply = await this.next();
      }
    }
    throw new Error("the logger stopped answering; fetch the log again, it resumes where it stopped");
  }

  async close() {
    this.open = false;
    try {
      await this.reader.cancel();
      this.reader.releaseLock();
      this.writer.releaseLock();
      await this.port.close();
    } catch {
      // It is gone already.
    }
  }
}
