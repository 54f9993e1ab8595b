import { playwright } from "@vitest/browser-playwright";
import { defineConfig } from "vitest/config";

const CHROMIUM_ARGUMENTS = [
  "--headless",
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];

function chromium(): string {
  const path = process.env["REDPOLL_CHROMIUM"];
  if (!path) throw new Error("REDPOLL_CHROMIUM names no browser: run the tests by `./dev test`, which finds one.");
  return path;
}

/** `*.test.ts` runs in Node; `*.browser.test.ts` runs in a real Chromium, which `./dev test` finds. */
export default defineConfig({
  test: {
    passWithNoTests: true,
    projects: [
      {
        test: {
          name: "pure",
          environment: "node",
          include: ["src/**/*.test.ts"],
          exclude: ["src/**/*.browser.test.ts"],
        },
      },
      {
        test: {
          name: "browser",
          include: ["src/**/*.browser.test.ts"],
          browser: {
            enabled: true,
            headless: true,
            screenshotFailures: false,
            provider: playwright({ launchOptions: { executablePath: chromium(), args: CHROMIUM_ARGUMENTS } }),
            instances: [{ browser: "chromium" }],
          },
        },
      },
    ],
  },
});
