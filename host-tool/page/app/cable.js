// The cable to a logger over Web Serial: bytes out, bytes in, asked again when nothing comes. What they mean, the engine
// knows.

const PATIENCE_MS = 400, TRIES = 8;

/** @param {string} text */
const bytesOf = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
/** @param {Uint8Array} bytes */
const textOf = (bytes) => btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));

/** @param {Uint8Array[]} pieces */
function joined(pieces) {
  const whole = new Uint8Array(pieces.reduce((sum, piece) => sum + piece.length, 0));
  pieces.reduce((at, piece) => {
    whole.set(piece, at);
    return at + piece.length;
  }, 0);
  return whole;
}

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
    /** @type {Uint8Array[]} bytes that the engine has not seen yet */
    this.inbox = [];
    this.digesting = false;
    this.lastHeard = 0;
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
        this.inbox.push(value);
        void this.digest();
      }
    } catch {
      // The cable was pulled.
    }
    this.open = false;
    this.woken?.();
  }

  /** Hands the engine all bytes that came while it was busy with those before. */
  async digest() {
    this.lastHeard = performance.now();
    if (this.digesting) return;
    this.digesting = true;
    while (this.inbox.length) {
      const bytes = textOf(joined(this.inbox.splice(0)));
      const { replies } = await this.engine.ask({ ask: "link", message: "came", bytes });
      this.replies.push(...replies);
      this.lastHeard = performance.now();
      this.woken?.();
    }
    this.digesting = false;
  }

  /** The next reply, or null when nothing comes for a while. */
  async next() {
    this.lastHeard = performance.now();
    while (!this.replies.length && this.open && (this.digesting || performance.now() - this.lastHeard < PATIENCE_MS)) {
      await new Promise((resolve) => {
        const timer = setTimeout(() => resolve(null), 20);
        this.woken = () => {
          clearTimeout(timer);
          resolve(null);
        };
      });
    }
    this.woken = null;
    return this.replies.shift() ?? null;
  }

  /** @param {string} message */
  async send(message) {
    this.replies = [];
    const { send } = await this.engine.ask({ ask: "link", message });
    await this.writer.write(bytesOf(send));
  }

  /** Asks until there is an answer. @param {"identify" | "live" | "memory"} message */
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
