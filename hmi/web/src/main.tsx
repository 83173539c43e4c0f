import { render } from "preact";
import { App } from "./app";

const page = document.getElementById("page");
if (page === null) throw new Error("index.html has no #page");
page.textContent = "";
render(<App />, page);
