/** What the build writes above service-worker.js. */
declare const BUILD: string;
declare const FILES: Record<string, string>;
declare const PACKED: Record<string, string>;
