import { defineConfig } from "vite";

// Relative addresses throughout: the same files work at the root of a server and in any folder of a web host.
export default defineConfig({
  base: "./",
  build: {
    target: "es2022",
    outDir: "dist",
    emptyOutDir: true,
    sourcemap: false,
    chunkSizeWarningLimit: 900,
    modulePreload: { polyfill: false },
    assetsInlineLimit: 0,
  },
  worker: { format: "es" },
  server: { proxy: { "/ask": "http://127.0.0.1:8642", "/runs": "http://127.0.0.1:8642" } },
});
