import "./styles/sheet.css";
import "./styles/hatches.css";
import { mount } from "svelte";
import App from "./components/App.svelte";
import { openSheet } from "./state/open_sheet.svelte";
import { theme } from "./state/theme.svelte";

theme.start();
openSheet.start();
mount(App, { target: document.body });
