// Small help on top of pages that work without it: the theme, "not saved yet", no network, printing.

const YEAR = 60 * 60 * 24 * 365;

/** Keep the theme chosen in the menu: "light", "dark", or "" for what the device says. */
function keepTheme(theme) {
  const age = theme ? YEAR : 0;
  const secure = location.protocol === "https:" ? "; Secure" : "";
  document.cookie = `theme=${theme}; Path=/; Max-Age=${age}; SameSite=Lax${secure}`;
  if (theme) document.documentElement.dataset.theme = theme;
  else delete document.documentElement.dataset.theme;
}

function showTheme(buttons) {
  const chosen = document.documentElement.dataset.theme ?? "";
  for (const button of buttons) button.setAttribute("aria-pressed", String(button.dataset.theme === chosen));
}

function offerThemes(part) {
  const buttons = part.querySelectorAll("button[data-theme]");
  for (const button of buttons) {
    button.addEventListener("click", () => {
      keepTheme(button.dataset.theme);
      showTheme(buttons);
    });
  }
  showTheme(buttons);
  part.hidden = false;
}

/** Say in a form that something in it was changed and not sent yet. */
function watchForm(form) {
  const note = form.querySelector("[data-unsaved-note]");
  if (!note) return;
  form.addEventListener("input", () => { note.hidden = false; });
  form.addEventListener("reset", () => { note.hidden = true; });
}

const AGAIN_AFTER = 8000; // ms after which a form may be sent again though no answer came

/** Send a form once: a second tap while the answer is on its way would send it twice. */
function sendOnce(form) {
  let sent = false;
  form.addEventListener("submit", (event) => {
    if (sent) event.preventDefault();
    else if (!event.defaultPrevented) {
      sent = true;
      setTimeout(() => { sent = false; }, AGAIN_AFTER);
    }
  });
  addEventListener("pageshow", () => { sent = false; });
}

/** Show the strip while the device has no network. */
function watchNetwork(strip) {
  const show = () => { strip.hidden = navigator.onLine; };
  addEventListener("online", show);
  addEventListener("offline", show);
  show();
}

/** Close the menu by Escape or by a tap beside it. */
function closeMenu(menu) {
  addEventListener("click", (event) => {
    if (!menu.contains(event.target)) menu.open = false;
  });
  menu.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    menu.open = false;
    menu.querySelector("summary").focus();
  });
}

document.querySelectorAll("[data-themes]").forEach(offerThemes);
document.querySelectorAll("form[data-unsaved]").forEach(watchForm);
document.querySelectorAll('form[method="post"]:not([hx-post])').forEach(sendOnce);
document.querySelectorAll("[data-offline]").forEach(watchNetwork);
document.querySelectorAll("details.menu").forEach(closeMenu);
document.querySelectorAll("[data-print]").forEach((button) => {
  button.hidden = false;
  button.addEventListener("click", () => print());
});
document.querySelector(".places a[aria-current]")?.scrollIntoView({ block: "nearest", inline: "nearest" });
