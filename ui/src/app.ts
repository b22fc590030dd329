/** The elements of the app. Each page works without them; they take over where they run. */
import style from "./style.css?inline";
import { startOutbox } from "./base/outbox";
import { PwFloor } from "./floor/pw-floor";
import { PwPicture } from "./picture/pw-picture";
import { PwSlab } from "./picture/pw-slab";
import { PwQuantity } from "./pw-quantity";
import { PwRibbon } from "./ribbon/pw-ribbon";
import { PwSiteEditor } from "./site/pw-site-editor";

const sheet = new CSSStyleSheet();
sheet.replaceSync(style);
document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];

startOutbox();
const elements: [string, CustomElementConstructor][] = [
  ["pw-quantity", PwQuantity],
  ["pw-ribbon", PwRibbon],
  ["pw-site-editor", PwSiteEditor],
  ["pw-floor", PwFloor],
  ["pw-picture", PwPicture],
  ["pw-slab", PwSlab],
];
for (const [name, made] of elements) if (!customElements.get(name)) customElements.define(name, made);
