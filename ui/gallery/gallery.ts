import "../src/styles/page.css";
