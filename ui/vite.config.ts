import { defineConfig } from "vitest/config";

const here = (path: string): string => decodeURIComponent(new URL(path, import.meta.url).pathname);

// Fixed names without hashes: the server links static/built/app.js and nothing else.
export default defineConfig({
  base: "./",
  build: {
    outDir: here("../src/pourwright/web/static/built"),
    emptyOutDir: true,
    target: "es2020",
    modulePreload: false,
    cssCodeSplit: false,
    reportCompressedSize: true,
    chunkSizeWarningLimit: 800,
    rollupOptions: {
      input: here("./src/app.ts"),
      output: {
        entryFileNames: "app.js",
        chunkFileNames: "[name].js",
        assetFileNames: "[name][extname]",
        manualChunks: (id: string): string | undefined =>
          id.includes("node_modules/three/") ? "three" : undefined,
      },
    },
  },
  test: { include: ["test/**/*.test.ts"], environment: "node" },
});
