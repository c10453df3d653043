// House rules for the scripts: what the linter knows, and the sizes that DEVELOPERS.md asks for.
import js from "@eslint/js";
import globals from "globals";

const built = { __APP_VERSION__: "readonly", __SHELL__: "readonly", __PRECACHE__: "readonly" };

export default [
  { ignores: ["dist/", "node_modules/"] },
  js.configs.recommended,
  {
    languageOptions: { ecmaVersion: "latest", sourceType: "module" },
    rules: {
      eqeqeq: ["error", "always", { null: "ignore" }],
      "no-var": "error",
      "prefer-const": "error",
      "no-console": "error",
      "no-eval": "error",
      "no-implied-eval": "error",
      "no-unused-vars": ["error", { argsIgnorePattern: "^_" }],
      "max-lines": ["error", { max: 400, skipBlankLines: true }],
      "max-lines-per-function": ["error", { max: 60, skipBlankLines: true, skipComments: true }],
    },
  },
  { files: ["src/**/*.js"], languageOptions: { globals: { ...globals.browser, ...built } } },
  { files: ["src/sw.js"], languageOptions: { globals: { ...globals.serviceworker, ...built } } },
  {
    files: ["tests/**/*.js", "tools/**/*.mjs", "build.mjs"],
    languageOptions: { globals: { ...globals.node, ...globals.browser } },
    rules: { "no-console": "off", "max-lines-per-function": "off" },
  },
];
