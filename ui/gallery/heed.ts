import "../src/styles/page.css";
import { Store } from "../src/data/store";
import type { RedpollShell } from "../src/screens/shell";
import "../src/screens/shell";
import { FakeConsole } from "./fake_console";
import { answerPlans } from "./fake_plans";
import { answerSurveys } from "./fake_surveys";
import { pretend } from "./pretend";
import { runSink } from "./sink";

const shell = document.querySelector<RedpollShell>("redpoll-shell");
if (shell !== null) {
  pretend(location.search === "?plans" ? [answerPlans, answerSurveys] : [answerSurveys]);
  const store = new Store();
  shell.store = store;
  if (location.search.startsWith("?sink")) runSink(store);
  else new FakeConsole(store, location.search === "?calm" ? "calm" : "busy").start();
}
