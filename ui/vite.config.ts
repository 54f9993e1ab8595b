import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { defineConfig, type Plugin } from "vite";

const SHIPPED_MODULES = [
  "@fontsource-variable/inter",
  "@lit/reactive-element",
  "lit",
  "lit-element",
  "lit-html",
  "swagger-ui-dist",
  "uplot",
];

function readModuleFile(path: string): string {
  return readFileSync(fileURLToPath(new URL(`./node_modules/${path}`, import.meta.url)), "utf8");
}

/** Copies what the API's own page needs into the build, so that it loads without internet and under our policy. */
function apiPage(): Plugin {
  return {
    name: "redpoll-api-page",
    apply: "build",
    generateBundle() {
      const script = readModuleFile("swagger-ui-dist/swagger-ui-bundle.js");
      // The page's few inlined pictures are ornaments of controls that keep their words.
      const style = readModuleFile("swagger-ui-dist/swagger-ui.css").replaceAll(
        /url\(("data:[^"]*"|'data:[^']*'|data:[^)]*)\)/g,
        "none",
      );
      this.emitFile({ type: "asset", fileName: "docs/swagger-ui-bundle.js", source: script });
      this.emitFile({ type: "asset", fileName: "docs/swagger-ui.css", source: style });
    },
  };
}

/** Writes the licence of every module that the build carries. */
function licences(): Plugin {
  return {
    name: "redpoll-licences",
    apply: "build",
    generateBundle() {
      const texts = SHIPPED_MODULES.map((name) => `${name}\n\n${readModuleFile(`${name}/LICENSE`)}`);
      this.emitFile({ type: "asset", fileName: "licences.txt", source: texts.join("\n\n----\n\n") });
    },
  };
}

// The console serves `dist` under /ui/ and `dist/index.html` at /. Its content policy allows no inline script, style
// or data address, so nothing may be inlined.
export default defineConfig({
  base: "/ui/",
  build: { target: "es2022", assetsInlineLimit: 0, modulePreload: { polyfill: false } },
  plugins: [apiPage(), licences()],
});
