import "./styles/sheet.css";
import { mount } from "svelte";
import App from "./components/App.svelte";
import { openSupply } from "./state/open_supply.svelte";
import { theme } from "./state/theme.svelte";

theme.start();
openSupply.start();
mount(App, { target: document.body });
