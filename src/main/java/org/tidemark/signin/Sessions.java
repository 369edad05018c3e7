package org.tidemark.signin;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.Clock;
import java.time.Duration;
import java.util.Optional;
import java.util.function.Supplier;
import org.jboss.logging.Logger;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.Clinic;
import org.tidemark.fhir.Problem;
import org.tidemark.signin.SignInProblem.Kind;
import org.tidemark.store.SessionStore;

/**
 * Who has signed in, for all instances. A session lasts as long as its access token, which is
 * renewed where the issuer lets it be; of several requests at once, one renews it.
 */
@ApplicationScoped
class Sessions {
  private static final Logger LOG = Logger.getLogger(Sessions.class);

  /** So long before an access token expires it is renewed, seconds. */
  private static final int EARLY_SECONDS = 30;

  /** A little longer than the issuer may take to answer. */
  private static final Duration CLAIM = Duration.ofSeconds(25);

  private static final Duration LOOKS_AGAIN = Duration.ofMillis(200);

  private final SessionStore store;
  private final SignInSettings settings;
  private final Issuer issuer;
  private final Admitting admitting;
  private final Clock clock;

  Sessions(
      SessionStore store,
      SignInSettings settings,
      Issuer issuer,
      Admitting admitting,
      Clock clock) {
    this.store = store;
    this.settings = settings;
    this.issuer = issuer;
    this.admitting = admitting;
    this.clock = clock;
  }

  /**
   * Where a session is kept.
   *
   * @param secret what the browser has
   * @param at the clinic whose pages it was begun on
   */
  private record Place(Secret secret, Clinic at) {
    String id() {
      return secret.text("session");
    }
  }

  /** Begins a session on the pages of a clinic, and gives the secret for the browser. */
  Secret begin(Session session, Clinic at) {
    Place place = new Place(Secret.random(), at);
    long now = clock.millis();
    in(
        place,
        () -> {
          store.add(
              place.id(), session.sealed(place.secret()), now + settings.longest().toMillis(), now);
          return place;
        });
    return place.secret();
  }

  /** Ends a session, and gives what it was; empty where there is none. */
  Optional<Session> end(Secret secret, Clinic at) {
    Place place = new Place(secret, at);
    Optional<SessionStore.Row> row = row(place);
    end(place);
    return row.map(kept -> Session.opened(kept.sealed(), secret));
  }

  private void end(Place place) {
    in(
        place,
        () -> {
          store.end(place.id());
          return place;
        });
  }

  /**
   * The session that a browser has on the pages of a clinic, renewed if it is time.
   *
   * @return empty where there is none, or it has ended
   * @throws Problem when it must be renewed and the issuer does not answer (503)
   */
  Optional<Session> find(Secret secret, Clinic at) {
    Place place = new Place(secret, at);
    for (; ; ) {
      Optional<SessionStore.Row> row = row(place);
      if (row.isEmpty()) {
        return Optional.empty();
      }
      Session session = Session.opened(row.get().sealed(), secret);
      if (now() < session.expires() - EARLY_SECONDS) {
        return Optional.of(session);
      }
      boolean good = now() < session.expires();
      if (session.refresh().isEmpty()) {
        return good ? Optional.of(session) : Optional.empty();
      }
      if (claimed(place, row.get())) {
        return renewed(place, session);
      }
      if (good) {
        return Optional.of(session);
      }
      rest();
    }
  }

  private long now() {
    return clock.instant().getEpochSecond();
  }

  private Optional<SessionStore.Row> row(Place place) {
    return in(place, () -> store.find(place.id(), clock.millis()));
  }

  private boolean claimed(Place place, SessionStore.Row row) {
    long now = clock.millis();
    return in(place, () -> store.claim(place.id(), row.renewals(), now + CLAIM.toMillis(), now));
  }

  private Optional<Session> renewed(Place place, Session session) {
    try {
      Issuer.Tokens given = issuer.renewed(session.refresh().orElseThrow());
      Session renewed = admitting.renew(session, given, place.at());
      in(
          place,
          () -> {
            store.renew(place.id(), renewed.sealed(place.secret()));
            return renewed;
          });
      return Optional.of(renewed);
    } catch (SignInProblem refused) {
      return notRenewed(place, session, refused);
    }
  }

  private Optional<Session> notRenewed(Place place, Session session, SignInProblem refused) {
    if (refused.kind() != Kind.UNREACHABLE) {
      LOG.infof("A session was not renewed and has ended: %s", refused.getMessage());
      end(place);
      return Optional.empty();
    }
    in(
        place,
        () -> {
          store.release(place.id());
          return place;
        });
    if (now() < session.expires()) {
      return Optional.of(session);
    }
    throw Problem.of(Problem.Kind.UNAVAILABLE, "The issuer does not answer now; try again.");
  }

  private static void rest() {
    try {
      Thread.sleep(LOOKS_AGAIN.toMillis());
    } catch (InterruptedException stopping) {
      Thread.currentThread().interrupt();
      throw Problem.of(Problem.Kind.UNAVAILABLE, "The service is being stopped.");
    }
  }

  private static <T> T in(Place place, Supplier<T> work) {
    return ActingClinic.call(
        place.at().id(), () -> QuarkusTransaction.requiringNew().call(work::get));
  }
}
