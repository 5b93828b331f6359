import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vitest/config";

// The bundle is committed and compared with a fresh build, so names carry no hash and nothing depends on the machine.
export default defineConfig({
    base: "./",
    plugins: [svelte()],
    build: {
        outDir: "dist",
        emptyOutDir: true,
        target: "es2022",
        assetsInlineLimit: 0,
        modulePreload: { polyfill: false },
        rollupOptions: {
            output: {
                entryFileNames: "page.js",
                chunkFileNames: "[name].js",
                assetFileNames: "[name][extname]",
            },
        },
    },
    // The service answers only to its own name, so the page under work speaks in it.
    server: {
        proxy: {
            "/api": {
                target: "http://127.0.0.1:7423",
                changeOrigin: true,
                headers: { origin: "http://127.0.0.1:7423" },
            },
        },
    },
    resolve: process.env.VITEST ? { conditions: ["browser"] } : {},
    test: { environment: "happy-dom", include: ["src/**/*.test.ts"], setupFiles: [] },
});
