package org.tidemark.signin;

import io.quarkus.qute.Template;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.util.List;
import java.util.Locale;
import org.tidemark.clinic.Clinic;
import org.tidemark.fhir.Texts;
import org.tidemark.http.AskedLanguages;
import org.tidemark.http.PageText;
import org.tidemark.http.Pages;
import org.tidemark.signin.SignInProblem.Kind;

/**
 * What somebody is shown who is not signed in, or not any more, or sees no page although they are.
 */
@ApplicationScoped
class SignInPage {
  /** Where somebody signs in as another than the issuer knows them as. */
  static final String AGAIN = "/signin/again";

  private final Template signin;

  SignInPage(Template signin) {
    this.signin = signin;
  }

  /**
   * What a page says.
   *
   * @param title above all
   * @param said sentences below
   * @param listed what is missing, word for word
   * @param leads where the browser is led at once; empty where it stays
   * @param go where a link leads
   * @param words of that link
   * @param other whether somebody may sign in as another
   */
  record Shown(
      String title,
      List<String> said,
      List<String> listed,
      String leads,
      String go,
      String words,
      boolean other) {}

  /** The language that is asked for, else that of the clinic. */
  static Locale language(HttpServletRequest request, Clinic clinic) {
    return Texts.firstSpoken(AskedLanguages.of(request.getHeader(AskedLanguages.HEADER)))
        .orElse(clinic.language());
  }

  /** Says why somebody is not let in. */
  void refuse(HttpServletRequest request, HttpServletResponse response, Clinic clinic, Kind kind)
      throws IOException {
    response.setStatus(kind.status());
    tell(request, response, clinic, kind, List.of());
  }

  /** The same, with the scopes that are missing. */
  void refuse(
      HttpServletRequest request, HttpServletResponse response, Clinic clinic, List<String> missing)
      throws IOException {
    response.setStatus(Kind.RIGHTS.status());
    tell(request, response, clinic, Kind.RIGHTS, missing);
  }

  /**
   * Asks somebody to wait.
   *
   * @param status why
   */
  void askToWait(
      HttpServletRequest request, HttpServletResponse response, Clinic clinic, int status)
      throws IOException {
    response.setStatus(status);
    tell(request, response, clinic, Kind.BUSY, List.of());
  }

  private void tell(
      HttpServletRequest request,
      HttpServletResponse response,
      Clinic clinic,
      Kind kind,
      List<String> missing)
      throws IOException {
    PageText text = new PageText(language(request, clinic));
    boolean passes = kind == Kind.BUSY || kind == Kind.UNREACHABLE || kind == Kind.STATE;
    Shown shown =
        new Shown(
            text.of(kind.key() + ".title"),
            List.of(text.of(kind.key()), text.of(kind.key() + ".next")),
            missing,
            "",
            "/",
            text.of("signin.try-again"),
            !passes && Pages.user(request).isEmpty());
    write(request, response, text, shown);
  }

  /** Says that somebody is signed out here, and leads them to be signed out at the issuer. */
  void leave(HttpServletRequest request, HttpServletResponse response, Clinic clinic, String issuer)
      throws IOException {
    PageText text = new PageText(language(request, clinic));
    Shown shown =
        new Shown(
            text.of("signin.leaving.title"),
            List.of(text.of("signin.leaving")),
            List.of(),
            issuer,
            issuer,
            text.of("signin.leaving.go"),
            false);
    write(request, response, text, shown);
  }

  /** Says that somebody is signed out. */
  void left(HttpServletRequest request, HttpServletResponse response, Clinic clinic)
      throws IOException {
    PageText text = new PageText(language(request, clinic));
    Shown shown =
        new Shown(
            text.of("signin.left.title"),
            List.of(text.of("signin.left")),
            List.of(),
            "",
            "/",
            text.of("signin.in"),
            false);
    write(request, response, text, shown);
  }

  private void write(
      HttpServletRequest request, HttpServletResponse response, PageText text, Shown shown)
      throws IOException {
    Pages.prepare(response);
    response
        .getWriter()
        .write(
            signin
                .data("t", text)
                .data("user", Pages.user(request))
                .data("again", AGAIN)
                .data("shown", shown)
                .render());
  }
}
