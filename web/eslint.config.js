import svelte from "eslint-plugin-svelte";
import tseslint from "typescript-eslint";

export default tseslint.config(
    { ignores: ["dist", "node_modules", "src/wire/api.d.ts"] },
    ...tseslint.configs.strict,
    ...svelte.configs.recommended,
    {
        files: ["**/*.svelte", "**/*.svelte.ts"],
        languageOptions: { parserOptions: { parser: tseslint.parser } },
    },
    {
        rules: {
            "no-restricted-exports": ["error", { restrictDefaultExports: { direct: true } }],
            // Pictures of the system come from our own service, drawn by `drawing`, which escapes every name.
            "svelte/no-at-html-tags": "error",
        },
    },
    { files: ["**/*.config.ts", "*.config.js"], rules: { "no-restricted-exports": "off" } },
);
