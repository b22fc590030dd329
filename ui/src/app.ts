/** The elements of the app. Each page works without them; they take over where they run. */
import style from "./style.css?inline";
import { startOutbox } from "./base/outbox";
import { startSignedOut } from "./base/signed-out";
import { PwFloor } from "./floor/pw-floor";
import { PwMix } from "./mix/pw-mix";
import { PwSheets } from "./mix/pw-sheets";
import { PwTask } from "./mix/pw-task";
import { PwCorners } from "./picture/pw-corners";
import { PwPicture } from "./picture/pw-picture";
import { PwSlab } from "./picture/pw-slab";
import { PwQuantity } from "./pw-quantity";
import { PwRibbon } from "./ribbon/pw-ribbon";
import { PwJoints } from "./site/pw-joints";
import { PwSiteEditor } from "./site/pw-site-editor";
import { PwUnits } from "./site/pw-units";
import { PwWait } from "./site/pw-wait";

const sheet = new CSSStyleSheet();
sheet.replaceSync(style);
document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];

startSignedOut();
startOutbox();
const elements: [string, CustomElementConstructor][] = [
  ["pw-quantity", PwQuantity],
  ["pw-ribbon", PwRibbon],
  ["pw-site-editor", PwSiteEditor],
  ["pw-floor", PwFloor],
  ["pw-mix", PwMix],
  ["pw-task", PwTask],
  ["pw-sheets", PwSheets],
  ["pw-picture", PwPicture],
  ["pw-slab", PwSlab],
  ["pw-corners", PwCorners],
  ["pw-joints", PwJoints],
  ["pw-units", PwUnits],
  ["pw-wait", PwWait],
];
for (const [name, made] of elements) if (!customElements.get(name)) customElements.define(name, made);
