"use strict";

// Nothing is sent anywhere but to this service: no validator badge, no key kept after the page.
const place = document.getElementById("contract");
window.SwaggerUIBundle({
  url: place.dataset.document,
  domNode: place,
  layout: "BaseLayout",
  presets: [window.SwaggerUIBundle.presets.apis],
  deepLinking: true,
  docExpansion: "list",
  defaultModelsExpandDepth: 0,
  displayRequestDuration: true,
  persistAuthorization: false,
  validatorUrl: null,
});
