package org.tidemark.exchange;

import jakarta.inject.Inject;
import jakarta.servlet.annotation.WebServlet;
import jakarta.servlet.http.HttpServlet;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import org.jose4j.jwk.JsonWebKey.OutputControlLevel;
import org.jose4j.jwk.JsonWebKeySet;

/** The public keys of the clinic, as a JSON Web Key Set (RFC 7517). */
@WebServlet(name = "jwks", urlPatterns = "/.well-known/jwks.json")
public class KeySetServlet extends HttpServlet {
  private static final long serialVersionUID = 1L;

  @Inject transient SigningKey key;

  @Override
  protected void doGet(HttpServletRequest request, HttpServletResponse response)
      throws IOException {
    response.setContentType("application/jwk-set+json");
    response.setHeader("Cache-Control", "max-age=3600");
    response
        .getOutputStream()
        .write(
            new JsonWebKeySet(key.get())
                .toJson(OutputControlLevel.PUBLIC_ONLY)
                .getBytes(StandardCharsets.UTF_8));
  }
}
