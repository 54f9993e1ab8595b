// Shows the API's own description; a file of its own, since the content policy allows no inline script.
window.SwaggerUIBundle({
  url: document.currentScript.dataset.document,
  dom_id: "#page",
  deepLinking: true,
  validatorUrl: null,
});
