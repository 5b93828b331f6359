import { mount } from "svelte";
import "./tokens.css";
import "./base.css";
import App from "./App.svelte";

const target = document.getElementById("page");
if (target) mount(App, { target });
