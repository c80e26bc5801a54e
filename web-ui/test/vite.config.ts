import { readdirSync } from "node:fs";
import { defineConfig } from "vite";

// The unit tests as plain modules for `node --test`: node 20 reads no TypeScript by itself.
const here = import.meta.dirname;
export default defineConfig({
  logLevel: "warn",
  publicDir: false,
  build: {
    ssr: true,
    outDir: `${here}/built`,
    emptyOutDir: true,
    rolldownOptions: { input: readdirSync(here).filter((name) => name.endsWith(".test.ts")).map((name) => `${here}/${name}`) },
  },
});
