package org.tidemark.cohort;

import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.stream.Collectors;
import org.tidemark.trend.ClopperPearson;
import org.tidemark.trend.Forecast;

/** The page that a clinician reads: the answers in words first, then figures and assumptions. */
final class Report {
  private final StringBuilder page = new StringBuilder();
  private final Study study;
  private final Figures rules;

  private Report(Study study) {
    this.study = study;
    this.rules = study.figures().get(ServiceRules.USUAL);
  }

  static String of(Study study) {
    return new Report(study).write();
  }

  private String write() {
    page.append(
        """
        <!DOCTYPE html>
        <html lang="en"><head><meta charset="utf-8">
        <meta name="viewport" content="width=device-width, initial-scale=1">
        <title>Virtual cohort</title>
        <style>
        body{font:17px/1.5 Georgia,"DejaVu Serif",serif;color:#111;background:#fff;max-width:60rem;
        margin:2rem auto;padding:0 1rem}
        h1,h2{font-family:"Helvetica Neue",Arial,"DejaVu Sans",sans-serif;line-height:1.2}
        h1{font-size:1.9rem}h2{font-size:1.3rem;margin-top:2.4rem;border-top:1px solid #999;
        padding-top:.8rem}
        .caution{border:2px solid #111;padding:.7rem 1rem;margin:1rem 0}
        .wide{overflow-x:auto}
        table{border-collapse:collapse;width:100%;font:15px/1.35 Arial,"DejaVu Sans",sans-serif;
        margin:.8rem 0}
        caption{text-align:left;font-weight:bold;padding:.3rem 0}
        th,td{text-align:left;vertical-align:top;padding:.35rem .6rem;border-bottom:1px solid #bbb}
        th{border-bottom:2px solid #111}
        td small{display:block;color:#444}
        td.bar{width:20%}dt{font-weight:bold}dd{margin:0 0 .5rem 1.2rem}
        .bar span{display:inline-block;background:#777;height:.8rem;vertical-align:middle;
        print-color-adjust:exact;-webkit-print-color-adjust:exact}
        img{width:100%;height:auto}
        figure{margin:1rem 0}figcaption{font-size:15px;color:#333}
        </style></head><body>
        """);
    tag("h1", "Do the rules grade an exercise programme better than plain rules?");
    tag(
        "p",
        "A virtual cohort for the programme “"
            + study.programme().title()
            + "”: "
            + study.number()
            + " invented people, each followed for up to "
            + study.weeks()
            + " weeks under "
            + study.figures().size()
            + " policies with the same luck.");
    page.append("<p class=\"caution\"><strong>This is a simulation.</strong> ")
        .append(
            escaped(
                "It shows what the rules would do to people who are as assumed below. It proves"
                    + " nothing about a real person, and no setting is called safe by it. Most of"
                    + " what a knee does in it is an assumption; the list stands at the end."))
        .append("</p>\n");
    answers();
    policies();
    charts();
    days();
    coverage();
    variants();
    sensitivity();
    people();
    assumptions();
    page.append("</body></html>\n");
    return page.toString();
  }

  private void answers() {
    tag("h2", "The answers");
    page.append("<ul>\n");
    tag("li", flares());
    tag("li", speed());
    tag("li", whereTheDaysGo());
    tag("li", coverageInWords());
    page.append("</ul>\n");
  }

  private String flares() {
    StringBuilder words =
        new StringBuilder(
            "Flares. Under the rules a person had "
                + band(rules.flaresPerYear(), 1)
                + " flared sessions a year.");
    study
        .figures()
        .forEach(
            (policy, figures) -> {
              if (figures != rules) {
                Band times = figures.flaresBesideRules();
                words
                    .append(" Under “")
                    .append(policy.title())
                    .append("” it was ")
                    .append(band(times, 1))
                    .append(" times as many");
                words.append(
                    times.low() <= 1 && times.high() >= 1 ? ", which may be no difference." : ".");
              }
            });
    Figures control = study.variants().get(PlainPolicy.NEVER_A_STEP);
    return words
        .append(" Who never takes a step, and so never gets on, has ")
        .append(band(control.flaresPerYear(), 1))
        .append(" a year: that much comes from daily life and the start itself.")
        .toString();
  }

  private String speed() {
    StringBuilder words =
        new StringBuilder(
            "Speed. "
                + band(rules.reached(), 100)
                + " % of people under the rules reached the end of the stage before the last"
                + " (for the knee: foot on the floor, no help of the hands, contact, settled)"
                + " within "
                + study.weeks()
                + " weeks");
    study
        .figures()
        .forEach(
            (policy, figures) -> {
              if (figures != rules) {
                words
                    .append("; under “")
                    .append(policy.title())
                    .append("” ")
                    .append(band(figures.reached(), 100))
                    .append(" %");
              }
            });
    return words.append('.').toString();
  }

  private String whereTheDaysGo() {
    HeldUpDays days = HeldUpDays.of(study.outcomesOfRules(), study.programme().stages().size());
    String most =
        days.mostFirst().stream()
            .limit(4)
            .map(why -> lower(why.words()) + " (" + number(100 * days.share(why)) + " % of days)")
            .collect(Collectors.joining("; "));
    return "Days. Before the goal, most days under the rules were spent like this: " + most + ".";
  }

  private String coverageInWords() {
    Coverage.Tally all = Coverage.together(study.coverage());
    if (all.made() == 0) {
      return "Forecasts. None could be made.";
    }
    ClopperPearson limits = all.limits();
    return "Forecasts. Of "
        + all.made()
        + " forecasts of the day of contact, "
        + percent(all.inside(), all.made())
        + " (95 % interval "
        + number(100 * limits.low())
        + " to "
        + number(100 * limits.high())
        + " %) held the true day in their 80 % interval; aimed at is 75 to 85 %. "
        + percent(all.early(), all.made())
        + " arrived before it, "
        + percent(all.late(), all.made())
        + " after it or never. In "
        + all.cannot().getOrDefault(Forecast.Reason.NO_CLEAR_DIRECTION, 0)
        + " cases the readings showed no clear direction, so that nothing was forecast; in "
        + all.cannot().getOrDefault(Forecast.Reason.ALREADY_REACHED, 0)
        + " the goal looked reached already.";
  }

  private void policies() {
    tag("h2", "The policies");
    page.append("<dl>\n");
    study
        .figures()
        .keySet()
        .forEach(
            policy -> {
              tag("dt", policy.title());
              tag("dd", policy.words());
            });
    page.append("</dl>\n");
    page.append("<div class=\"wide\"><table><thead><tr>");
    for (String head :
        List.of(
            "policy",
            "flared sessions a year",
            "for each 365 sessions",
            "new flares a year",
            "sore mornings a year",
            "median weeks to the goal",
            "reached the goal, %",
            "reached the last goal, %",
            "days eased, %",
            "days withheld, %",
            "sessions a week",
            "dropped out, %")) {
      tag("th", head);
    }
    page.append("</tr></thead><tbody>\n");
    study
        .figures()
        .forEach(
            (policy, f) -> {
              page.append("<tr>");
              tag("td", policy.title());
              cell(f.flaresPerYear(), 1);
              cell(f.flaresPerExercise(), 1);
              cell(f.episodesPerYear(), 1);
              cell(f.soreMornings(), 1);
              cell(f.goalWeeks(), 1);
              cell(f.reached(), 100);
              cell(f.reachedLast(), 100);
              cell(f.eased(), 100);
              cell(f.withheld(), 100);
              tag("td", number(f.sessionsPerWeek()));
              tag("td", number(100 * f.droppedOut()));
              page.append("</tr>\n");
            });
    page.append("</tbody></table></div>\n");
    tag(
        "p",
        "In brackets: 95 % intervals from resampling people. A median is “not seen” where fewer"
            + " than half reached the goal. A new flare has a quiet week before it. A flare is counted by what was truly felt, by the symptom-free"
            + " reading: a next morning 2 points above rest, more than 5 during or after, new"
            + " swelling, or still worse after a day. Who drops out is lost from sight; dropping"
            + " out is likelier after a flare, so the times to the goal of policies that flare"
            + " much flatter them. The last goal is the end of the programme.");
  }

  private void charts() {
    List<String> names = study.figures().keySet().stream().map(Policy::title).toList();
    figure(
        Charts.bars(
            names,
            study.figures().values().stream().map(Figures::flaresPerYear).toList(),
            "flared sessions a year"),
        "Flared sessions for each year in sight, with 95 % intervals.");
    figure(
        Charts.reached(study.figures(), study.weeks()),
        "Who has reached the goal (Kaplan and Meier, drawn every four weeks; who drops out is lost"
            + " from sight).");
  }

  private void days() {
    tag("h2", "What the days before the goal are spent on");
    HeldUpDays days = HeldUpDays.of(study.outcomesOfRules(), study.programme().stages().size());
    page.append("<div class=\"wide\"><table><caption>Under the rules, all people together, % of")
        .append(" days</caption><thead><tr><th>spent on</th>");
    study.programme().stages().forEach(stage -> tag("th", stage.title()));
    page.append("<th>all stages</th><th></th></tr></thead><tbody>\n");
    for (HeldUp why : days.mostFirst()) {
      page.append("<tr>");
      tag("td", why.words());
      for (double share : days.byStage().get(why)) {
        tag("td", number(100 * share));
      }
      tag("td", number(100 * days.share(why)));
      page.append("<td class=\"bar\"><span style=\"width:")
          .append(number(180 * days.share(why)))
          .append("%\"></span></td></tr>\n");
    }
    page.append("</tbody></table></div>\n");
  }

  private void coverage() {
    tag("h2", "Does the forecast keep its word?");
    coverage(study.coverage(), "Readings every two to four weeks, by the person’s own method");
    coverage(study.weeklyCoverage(), "A reading every week, by the person’s own method");
    tag(
        "p",
        "The true day is the first on which the hidden range comes to the angle at which this"
            + " person’s calf and thigh meet. Who had been there already when a forecast was made"
            + " counts as too early. People are followed for three years after the last forecast;"
            + " whoever has not arrived by then is inside an interval with an open end and outside"
            + " one with a latest day.");
  }

  private void coverage(Map<Integer, Coverage.Tally> coverage, String how) {
    tag("h3", how);
    figure(
        Charts.coverage(coverage),
        "Share of true arrivals inside the 80 % interval, with exact 95 % limits (Clopper and"
            + " Pearson), where there are 20 forecasts or more; between the dashed lines is aimed at.");
    page.append("<div class=\"wide\"><table><thead><tr>");
    for (String head :
        List.of(
            "readings",
            "forecasts",
            "inside, %",
            "95 % limits",
            "too early, %",
            "too late or never, %",
            "already there",
            "no clear direction",
            "stops short",
            "of these arrived within 3 years")) {
      tag("th", head);
    }
    page.append("</tr></thead><tbody>\n");
    coverage.forEach(
        (readings, tally) -> {
          page.append("<tr>");
          tag("td", String.valueOf(readings));
          tag("td", String.valueOf(tally.made()));
          tag("td", percent(tally.inside(), tally.made()));
          tag(
              "td",
              tally.made() == 0
                  ? "–"
                  : number(100 * tally.limits().low())
                      + " to "
                      + number(100 * tally.limits().high()));
          tag("td", percent(tally.early(), tally.made()));
          tag("td", percent(tally.late(), tally.made()));
          for (Forecast.Reason reason :
              List.of(
                  Forecast.Reason.ALREADY_REACHED,
                  Forecast.Reason.NO_CLEAR_DIRECTION,
                  Forecast.Reason.STOPS_SHORT)) {
            tag("td", String.valueOf(tally.cannot().getOrDefault(reason, 0)));
          }
          tag("td", String.valueOf(tally.arrivedOfShort()));
          page.append("</tr>\n");
        });
    page.append("</tbody></table></div>\n");
  }

  private void variants() {
    tag("h2", "The rules with other settings");
    tag(
        "p",
        "“Never a step” is a control: the flares that the start and daily life give, whatever is"
            + " done about the grading.");
    side(study.variants(), "On " + study.fewer() + " of the people");
  }

  private void sensitivity() {
    tag("h2", "What the result hangs on");
    tag(
        "p",
        "The same "
            + study.fewer()
            + " people, one assumption changed at a time. If the order of the policies turns with"
            + " it, the result is as good as that assumption.");
    study.sensitivity().forEach((scenario, figures) -> side(figures, capital(scenario.name())));
  }

  private void side(Map<Policy, Figures> figures, String caption) {
    page.append("<div class=\"wide\"><table><caption>")
        .append(escaped(caption))
        .append("</caption><thead><tr>");
    for (String head :
        List.of(
            "policy",
            "flared sessions a year",
            "sore mornings a year",
            "reached the goal, %",
            "days eased, %")) {
      tag("th", head);
    }
    page.append("</tr></thead><tbody>\n");
    figures.forEach(
        (policy, f) -> {
          page.append("<tr>");
          tag("td", policy.title());
          cell(f.flaresPerYear(), 1);
          cell(f.soreMornings(), 1);
          cell(f.reached(), 100);
          cell(f.eased(), 100);
          page.append("</tr>\n");
        });
    page.append("</tbody></table></div>\n");
  }

  private void people() {
    tag("h2", "What was simulated");
    tag(
        "p",
        "Each invented person has a body, a home with its own stairs, books, towels and dumbbells,"
            + " habits, and a knee whose tolerance no policy sees. A session asks what the demand"
            + " model says of this person’s true measures, raised by a power and an error of the"
            + " person’s own, so that the model is wrong by a different amount for everyone. Load"
            + " above tolerance hurts, lingers, may swell, and weakens for a while; load near it"
            + " makes tolerance grow; without it tolerance fades. A stretch past comfortable"
            + " flexion hurts where it goes too far. Range comes nearer to a ceiling of its own,"
            + " stalls and wanders. People miss sessions and mornings, travel, rest when too sore,"
            + " and drop out. Under the rules a clinician accepts every proposal and lets every"
            + " withheld plan go on, each after some days; a piece of equipment that is named as"
            + " missing comes for some. The plain policies have the same start, home and order of"
            + " steps. "
            + study.cohort().noStart()
            + " people whose baseline gives no start are left out. A surgeon’s limits and warning"
            + " signs are not simulated.");
    tag(
        "p",
        "Seed "
            + study.seed()
            + "; the same seed gives the same people and the same page. The rules alone took "
            + number(study.seconds())
            + " s.");
  }

  private void assumptions() {
    tag("h2", "What is assumed");
    page.append(
        "<div class=\"wide\"><table><thead><tr><th>what</th><th>value</th><th>source</th></tr>"
            + "</thead><tbody>\n");
    for (Assumption assumption : Assumption.values()) {
      page.append("<tr>");
      tag("td", assumption.what());
      tag("td", assumption.words());
      tag("td", assumption.source());
      page.append("</tr>\n");
    }
    page.append("</tbody></table></div>\n");
    tag("p", "A spread written a ± b is a normal one with its standard deviation, cut at three.");
  }

  private void figure(String image, String caption) {
    page.append("<figure><img alt=\"")
        .append(escaped(caption))
        .append("\" src=\"")
        .append(image)
        .append("\"><figcaption>")
        .append(escaped(caption))
        .append("</figcaption></figure>\n");
  }

  private void cell(Band band, double scale) {
    page.append("<td>").append(number(scale * band.value()));
    if (Double.isFinite(band.low())) {
      page.append("<small>(")
          .append(number(scale * band.low()))
          .append(" to ")
          .append(number(scale * band.high()))
          .append(")</small>");
    }
    page.append("</td>");
  }

  private static String band(Band band, double scale) {
    return number(scale * band.value())
        + " ("
        + number(scale * band.low())
        + " to "
        + number(scale * band.high())
        + ")";
  }

  private static String percent(int part, int whole) {
    return whole == 0 ? "–" : number(100.0 * part / whole) + " %";
  }

  /** A figure as a reader needs it: one decimal, none from 100 on. */
  static String number(double value) {
    if (Double.isNaN(value) || Double.isInfinite(value)) {
      return "not seen";
    }
    return String.format(Locale.ROOT, Math.abs(value) >= 100 ? "%.0f" : "%.1f", value);
  }

  private void tag(String tag, String text) {
    page.append('<')
        .append(tag)
        .append('>')
        .append(escaped(text))
        .append("</")
        .append(tag)
        .append(">\n");
  }

  private static String escaped(String text) {
    return text.replace("&", "&amp;")
        .replace("<", "&lt;")
        .replace(">", "&gt;")
        .replace("\"", "&quot;");
  }

  private static String lower(String text) {
    return text.substring(0, 1).toLowerCase(Locale.ROOT) + text.substring(1);
  }

  private static String capital(String text) {
    return text.substring(0, 1).toUpperCase(Locale.ROOT) + text.substring(1);
  }
}
