// Filled in by build.mjs.
declare const __APP_VERSION__: string;
declare const __SHELL__: string;
declare const __PRECACHE__: { url: string; revision: string | null }[];
declare module "*.css";
