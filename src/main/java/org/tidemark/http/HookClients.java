package org.tidemark.http;

import jakarta.servlet.http.HttpServletRequest;
import java.util.Optional;
import org.tidemark.application.Caller;
import org.tidemark.clinic.Clinic;
import org.tidemark.fhir.Problem;

/** Knows the systems that call hooks by a token that they have signed themselves. */
public interface HookClients {
  /** Reads the settings, which end the start where they are at fault. */
  void check();

  /**
   * Who calls a hook.
   *
   * @param token the token as it was sent
   * @param clinic the clinic whose hooks are called
   * @return empty where the token claims to be of none of them; it is then an access token or none
   * @throws Problem when it claims to be, and is not good (401)
   */
  Optional<Caller> find(String token, HttpServletRequest request, Clinic clinic);
}
