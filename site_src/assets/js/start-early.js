// Starts Python while the page is still being read: loaded by calculator pages ahead of all else.
import { core } from "./core-client.js";

core.start();
