import { readdirSync } from "node:fs";
import { defineConfig } from "vite";

// The unit tests as plain modules for `node --test`, and the page without its screens: node 20 reads no TypeScript by itself.
const here = import.meta.dirname;
export default defineConfig({
  logLevel: "warn",
  publicDir: false,
  define: { BroadcastChannel: "undefined" }, // an open channel would keep the process of a test open
  ssr: { noExternal: true },
  build: {
    ssr: true,
    outDir: `${here}/built`,
    emptyOutDir: true,
    rolldownOptions: { input: readdirSync(here).filter((name) => name.endsWith(".test.ts") || name === "phone.ts").map((name) => `${here}/${name}`) },
  },
});
