import "./styles/page.css";
import { Connection } from "./data/connection";
import { Store } from "./data/store";
import type { RedpollShell } from "./screens/shell";
import "./screens/shell";

const shell = document.querySelector<RedpollShell>("redpoll-shell");
if (shell !== null) {
  const store = new Store();
  const connection = new Connection(store);
  shell.store = store;
  shell.connection = connection;
  void connection.start();
}
