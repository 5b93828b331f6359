import { defineConfig } from "vitest/config";

// One browser, one service, one test after the other: they share the two cores with what they measure.
export default defineConfig({
    test: {
        root: import.meta.dirname,
        include: ["**/*.test.ts"],
        environment: "node",
        fileParallelism: false,
        testTimeout: 120_000,
        hookTimeout: 60_000,
        retry: 0,
    },
});
