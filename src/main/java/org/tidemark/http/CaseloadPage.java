package org.tidemark.http;

import io.quarkus.qute.Template;
import jakarta.inject.Inject;
import jakarta.servlet.annotation.WebServlet;
import jakarta.servlet.http.HttpServlet;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.net.URLEncoder;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.Collections;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import org.tidemark.application.Caseload;
import org.tidemark.application.Languages;
import org.tidemark.application.Need;
import org.tidemark.application.UnusedReports;

/**
 * The page {@code /}: every plan that runs, those that need a clinician first, with a search by
 * name and a filter by need.
 */
@WebServlet(name = "caseload", urlPatterns = "")
public class CaseloadPage extends HttpServlet {
  private static final long serialVersionUID = 1L;

  /** The longest name that is looked for, in characters. */
  private static final int LONGEST_NAME = 200;

  /** So many reports that could not be used are listed, the newest. */
  private static final int UNUSED_SHOWN = 20;

  /** The last page that a number of an address can name. */
  private static final int DIGITS = 6;

  @Inject transient Template caseload;
  @Inject transient Caseload plans;
  @Inject transient UnusedReports unused;
  @Inject transient Languages languages;

  /** A plan as the list shows it. */
  record Shown(
      String id,
      String person,
      String title,
      List<String> inForce,
      String kind,
      String need,
      String since,
      String overdue) {}

  /** A report that could not be used, as the page shows it; without a plan there is no address. */
  record Unused(String person, String planId, String since, String words, String language) {}

  /** A choice of the filter. */
  record Choice(String code, String words, boolean chosen) {}

  /** Addresses of the pages before and after; empty where there is none. */
  record Pager(String before, String after) {}

  @Override
  protected void doGet(HttpServletRequest request, HttpServletResponse response)
      throws IOException {
    Locale locale = languages.firstOf(Collections.list(request.getLocales()));
    PageText text = new PageText(locale);
    String name = given(request, "name");
    name = name.substring(0, Math.min(name.length(), LONGEST_NAME));
    Optional<Need> need = Need.find(given(request, "need"));
    Caseload.Page page = plans.page(need, name, number(given(request, "page")), locale);
    long all = page.counts().values().stream().mapToLong(Long::longValue).sum();
    long found = need.map(wanted -> page.counts().getOrDefault(wanted, 0L)).orElse(all);
    Pages.prepare(response);
    // All is read before the first byte goes out: until then the request is not audited.
    String html =
        caseload
            .data("t", text)
            .data("user", Pages.user(request))
            .data("rows", page.rows().stream().map(row -> shown(row, text)).toList())
            .data("first", (page.number() - 1) * Caseload.ON_A_PAGE + 1)
            .data("name", name)
            .data("filtered", need.isPresent() || !name.isBlank())
            .data("choices", choices(page, need, all, text))
            .data("found", text.of("caseload.found", found, page.number(), page.pages()))
            .data("pager", pager(page, need, name))
            .data("unused", unused(text))
            .render();
    response.getWriter().write(html);
  }

  private static String given(HttpServletRequest request, String parameter) {
    String value = request.getParameter(parameter);
    return value == null ? "" : value.strip();
  }

  private static int number(String page) {
    return page.matches("\\d{1," + DIGITS + "}") ? Integer.parseInt(page) : 1;
  }

  private static Shown shown(Caseload.Row row, PageText text) {
    boolean asks = row.need() != Need.NONE && row.need() != Need.HELD;
    String day = text.day(row.since().toLocalDate());
    return new Shown(
        row.planId(),
        row.person(),
        row.title(),
        row.inForce(),
        row.need().code(),
        text.of("need." + row.need().code()),
        asks ? text.of("since", day) : "",
        row.overdue() ? text.of("overdue") : "");
  }

  private List<Unused> unused(PageText text) {
    return unused.newest(UNUSED_SHOWN).stream()
        .map(
            report ->
                new Unused(
                    report.person(),
                    report.planId().orElse(""),
                    text.of("since", text.day(report.since())),
                    report.task().getDescription(),
                    report.task().getText().getDiv().getAttribute("lang")))
        .toList();
  }

  private static List<Choice> choices(
      Caseload.Page page, Optional<Need> chosen, long all, PageText text) {
    List<Choice> choices = new ArrayList<>();
    choices.add(new Choice("", text.of("caseload.all", all), chosen.isEmpty()));
    Arrays.stream(Need.values())
        .map(
            need ->
                new Choice(
                    need.code(),
                    text.of(
                        "caseload.choice",
                        text.of("need." + need.code()),
                        page.counts().getOrDefault(need, 0L)),
                    chosen.filter(need::equals).isPresent()))
        .forEach(choices::add);
    return choices;
  }

  private static Pager pager(Caseload.Page page, Optional<Need> need, String name) {
    String kept =
        "/?name="
            + URLEncoder.encode(name, StandardCharsets.UTF_8)
            + "&need="
            + need.map(Need::code).orElse("")
            + "&page=";
    return new Pager(
        page.number() > 1 ? kept + (page.number() - 1) : "",
        page.number() < page.pages() ? kept + (page.number() + 1) : "");
  }
}
