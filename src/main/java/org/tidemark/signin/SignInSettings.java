package org.tidemark.signin;

import io.quarkus.runtime.configuration.ConfigurationException;
import jakarta.inject.Singleton;
import java.net.URI;
import java.time.Duration;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.eclipse.microprofile.config.Config;
import org.tidemark.clinic.Clinic;
import org.tidemark.clinic.Clinics;
import org.tidemark.http.AccessSettings;

/** What is set for the sign-in on the pages. Without a client id nobody signs in. */
@Singleton
class SignInSettings {
  private static final String PREFIX = "tidemark.pages.";
  private static final String CLIENT_ID = PREFIX + "client-id";
  private static final String END_SESSION = PREFIX + "end-session-endpoint";
  private static final String PARAMETERS = PREFIX + "parameters";

  private final Config config;

  SignInSettings(Config config, AccessSettings access, Clinics clinics) {
    this.config = config;
    if (isOn()) {
      requireIssuer(access);
      clinics.all().forEach(clinic -> requireSafe(CLIENT_ID, "tidemark.base-url", clinic.base()));
      access
          .authorizationEndpoint()
          .ifPresent(at -> requireSafe(CLIENT_ID, "tidemark.smart.authorization-endpoint", at));
      requireSafe(CLIENT_ID, "tidemark.smart.issuer", access.issuer());
      requireSafe(CLIENT_ID, "tidemark.smart.token-endpoint", access.tokenEndpoint());
      endSessionEndpoint().ifPresent(at -> requireSafe(CLIENT_ID, END_SESSION, at));
      parameters();
    }
  }

  private static void requireIssuer(AccessSettings access) {
    if (!access.smart() || access.sandbox()) {
      throw new ConfigurationException(
          CLIENT_ID
              + " is for signing in at an issuer: it needs tidemark.access=smart with the settings of"
              + " one, and no sandbox.");
    }
  }

  private static void requireSafe(String why, String setting, String address) {
    if (!isSafe(address)) {
      throw new ConfigurationException(
          "With " + why + " the setting " + setting + " must be an https address.");
    }
  }

  /** Whether what goes to an address is seen by nobody else. */
  static boolean isSafe(String address) {
    URI at = URI.create(address);
    return at.getHost() != null
        && ("https".equals(at.getScheme())
            || ("http".equals(at.getScheme()) && AccessSettings.isLoopback(at.getHost())));
  }

  private Optional<String> find(String name) {
    return config.getOptionalValue(name, String.class).map(String::strip).filter(v -> !v.isEmpty());
  }

  /** Whether somebody can sign in. */
  boolean isOn() {
    return find(CLIENT_ID).isPresent();
  }

  /** Under which id the pages are registered at the issuer. */
  String clientId() {
    return find(CLIENT_ID).orElseThrow();
  }

  /** The secret by which the service shows the issuer that it is this client. */
  Optional<String> clientSecret() {
    return find(PREFIX + "client-secret");
  }

  /** What is asked for, separated by spaces. */
  String scopes() {
    return config.getValue(PREFIX + "scopes", String.class).strip();
  }

  /** What this issuer wants to be told besides when somebody is sent to it. */
  Map<String, String> parameters() {
    Map<String, String> parameters = new LinkedHashMap<>();
    for (String one : config.getOptionalValues(PARAMETERS, String.class).orElse(List.of())) {
      int equals = one.indexOf('=');
      if (equals < 1) {
        throw new ConfigurationException(
            PARAMETERS + " is a list of name=value, not '" + one + "'.");
      }
      parameters.put(one.substring(0, equals).strip(), one.substring(equals + 1).strip());
    }
    return parameters;
  }

  /** Where somebody signs out at the issuer, if that is not to be asked of the issuer itself. */
  Optional<String> endSessionEndpoint() {
    return find(END_SESSION);
  }

  /** After how long somebody signs in anew, whatever the issuer says. */
  Duration longest() {
    return config.getValue(PREFIX + "session", Duration.class);
  }

  /** Where the pages of a clinic begin, without a slash at the end. */
  static String origin(Clinic clinic) {
    URI base = URI.create(clinic.base());
    return base.getScheme() + "://" + base.getAuthority();
  }

  /** Whether the pages of a clinic are reached by TLS. */
  static boolean isSecure(Clinic clinic) {
    return clinic.base().startsWith("https:");
  }
}
