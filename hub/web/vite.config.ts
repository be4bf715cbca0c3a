import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vitest/config";

export default defineConfig({
  plugins: [svelte({ configFile: false })],
  build: {
    target: "es2022",
    // The page is served with `default-src 'self'`, which refuses data: addresses and inline scripts.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
  },
  test: { include: ["tests/**/*.test.ts"], environment: "node" },
});
