import "./styles/sheet.css";
import { mount } from "svelte";
import App from "./components/App.svelte";
import { theme } from "./state/theme.svelte";

theme.start();
mount(App, { target: document.body });
