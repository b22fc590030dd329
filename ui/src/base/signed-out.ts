/** A notice on top of the page when the session has ended, with the way back in. */
import { SIGNED_OUT } from "./api";
import { h } from "./dom";
import { t } from "./words";

export function startSignedOut(): void {
  document.addEventListener(SIGNED_OUT, () => {
    if (document.querySelector(".pw-signed-out")) return;
    const back = encodeURIComponent(location.pathname + location.search);
    (document.querySelector("main") ?? document.body).prepend(
      h(
        "div",
        { class: "notice pw-signed-out", role: "alert" },
        h("p", { text: t("link.signed_out") }),
        h("p", {}, h("a", { class: "button go", href: `/login?next=${back}`, text: t("link.sign_in") })),
      ),
    );
  });
}
