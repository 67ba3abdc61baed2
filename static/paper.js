// The print button. The sheet is printed from the browser's menu as well.

for (const button of document.querySelectorAll("[data-print]")) button.addEventListener("click", () => window.print());
