"use strict";

const docs = document.getElementById("docs");

function csrfToken() {
  return document.cookie.match(/(?:^|; )csrftoken=([^;]*)/)?.[1] ?? "";
}

SwaggerUIBundle({
  url: docs.dataset.schema,
  domNode: docs,
  presets: [SwaggerUIBundle.presets.apis],
  layout: "BaseLayout",
  deepLinking: true,
  docExpansion: "list",
  requestInterceptor(request) {
    // Who is signed in may try it out; a token that was typed in needs no such proof.
    if (!request.loadSpec && request.method !== "GET" && !request.headers.Authorization) {
      request.headers["X-CSRFToken"] = csrfToken();
    }
    return request;
  },
});
