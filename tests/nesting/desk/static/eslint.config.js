import js from "@eslint/js";
import globals from "globals";

const rules = {
  eqeqeq: ["error", "always", { null: "ignore" }],
  "max-len": ["error", { code: 100 }],
  "no-var": "error",
  "prefer-const": "error",
  "object-shorthand": "error",
  "no-implicit-globals": "error",
  "no-unused-expressions": ["error", { allowShortCircuit: true, allowTernary: true }],
  "no-restricted-properties": [
    "error",
    { property: "innerHTML", message: "Text goes in as text: use h() of dom.js." },
    { property: "outerHTML", message: "Text goes in as text: use h() of dom.js." },
    { property: "insertAdjacentHTML", message: "Text goes in as text: use h() of dom.js." },
  ],
};

export default [
  { ignores: ["**/*.min.js"] },
  js.configs.recommended,
  { languageOptions: { globals: globals.browser }, rules },
  { files: ["**/*.test.js"], languageOptions: { globals: globals.node } },
];
