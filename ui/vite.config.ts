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
];

function readModuleFile(path: string): string {
  return readFileSync(fileURLToPath(new URL(`./node_modules/${path}`, import.meta.url)), "utf8");
}

const INLINED_PICTURE = /url\((?:"data:image\/([a-z]+)[^,]*,((?:\\.|[^"\\])*)"|data:image\/([a-z]+);base64,([^)]*))\)/g;

/** Gives every picture inlined in a style sheet a file of its own, for our policy allows no data address. */
function unfoldPictures(style: string, emit: (name: string, bytes: Uint8Array) => void): string {
  let count = 0;
  return style.replaceAll(INLINED_PICTURE, (_whole, textKind, text, codedKind, coded) => {
    const bytes = coded ? Buffer.from(coded, "base64") : Buffer.from(decodeURIComponent(text.replaceAll("\\", "")));
    count += 1;
    const name = `picture-${count}.${textKind ?? codedKind}`;
    emit(name, bytes);
    return `url("${name}")`;
  });
}

/** Copies what the API's own page needs into the build, so that it loads without internet and under our policy. */
function apiPage(): Plugin {
  return {
    name: "redpoll-api-page",
    apply: "build",
    generateBundle() {
      const emit = (name: string, source: string | Uint8Array) =>
        this.emitFile({ type: "asset", fileName: `docs/${name}`, source });
      emit("swagger-ui-bundle.js", readModuleFile("swagger-ui-dist/swagger-ui-bundle.js"));
      emit("swagger-ui.css", unfoldPictures(readModuleFile("swagger-ui-dist/swagger-ui.css"), emit));
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

/** The screen, and the gallery of its elements beside it. */
const PAGES = ["index.html", "gallery/index.html", "gallery/heed.html"];

// The console serves `dist` under /ui/ and `dist/index.html` at /. Its content policy allows no inline script, style
// or data address, so nothing may be inlined.
export default defineConfig({
  base: "/ui/",
  build: {
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rolldownOptions: { input: PAGES },
  },
  plugins: [apiPage(), licences()],
});
