/** Text of worker.js, put in by bundle.mjs. */
declare const WORKER_SOURCE: string;
