import "../src/styles/page.css";
import "../src/elements/keys";
import "./gallery_page";
