// Filled in by build.mjs.
declare const BUILD: string;
declare const WORKER: string;
declare const MODULE: string;
declare const VERSION: string;
declare const FILES: Record<string, string>;
declare module "*.css";
