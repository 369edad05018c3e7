package org.tidemark.cohort;

import java.awt.BasicStroke;
import java.awt.Color;
import java.awt.Font;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.util.ArrayList;
import java.util.Base64;
import java.util.List;
import java.util.Map;
import org.knowm.xchart.AnnotationText;
import org.knowm.xchart.BitmapEncoder;
import org.knowm.xchart.CategoryChart;
import org.knowm.xchart.CategoryChartBuilder;
import org.knowm.xchart.XYChart;
import org.knowm.xchart.XYChartBuilder;
import org.knowm.xchart.XYSeries;
import org.knowm.xchart.internal.chartpart.Chart;
import org.knowm.xchart.style.AxesChartStyler;
import org.knowm.xchart.style.CategoryStyler;
import org.knowm.xchart.style.Styler;
import org.knowm.xchart.style.markers.Marker;
import org.knowm.xchart.style.markers.SeriesMarkers;
import org.tidemark.trend.ClopperPearson;

/** The charts of the report, told apart without colour, as images that an HTML page can hold. */
final class Charts {
  private static final int WIDTH = 1000;
  private static final int HEIGHT = 480;
  private static final int DAYS_PER_WEEK = 7;

  private static final int WEEKS_BETWEEN_MARKS = 4;

  /** Fewer forecasts say too little to be drawn. */
  private static final int LEAST_FORECASTS = 20;

  private static final List<Marker> MARKERS =
      List.of(
          SeriesMarkers.CIRCLE,
          SeriesMarkers.SQUARE,
          SeriesMarkers.TRIANGLE_UP,
          SeriesMarkers.DIAMOND);

  private static final List<BasicStroke> STROKES =
      List.of(new BasicStroke(3.2f), stroke(12, 6), stroke(3, 4), stroke(12, 4, 3, 4));

  private static final List<Color> GREYS =
      List.of(Color.BLACK, new Color(60, 60, 60), new Color(60, 60, 60), new Color(60, 60, 60));

  private Charts() {}

  /** Who has reached the goal, over weeks, each line labelled at its end. */
  static String reached(Map<Policy, Figures> figures, int weeks) {
    XYChart chart =
        new XYChartBuilder()
            .width(WIDTH)
            .height(HEIGHT)
            .xAxisTitle("weeks since the start")
            .yAxisTitle("reached the goal, %")
            .build();
    style(chart.getStyler());
    chart.getStyler().setXAxisMin(0.0).setXAxisMax(weeks * 1.42).setYAxisMin(0.0);
    List<Double> ends = new ArrayList<>();
    double top = 0;
    for (Figures of : figures.values()) {
      top = Math.max(top, 100 * of.reached().value());
    }
    int line = 0;
    for (Map.Entry<Policy, Figures> entry : figures.entrySet()) {
      List<Double> x = new ArrayList<>();
      List<Double> y = new ArrayList<>();
      for (int week = 0; week <= weeks; week += WEEKS_BETWEEN_MARKS) {
        x.add((double) week);
        y.add(100 * (1 - entry.getValue().curve().shareAfter(DAYS_PER_WEEK * week)));
      }
      double end = y.get(y.size() - 1);
      XYSeries series = chart.addSeries(entry.getKey().title(), x, y);
      series.setMarker(MARKERS.get(line % MARKERS.size()));
      series.setMarkerColor(GREYS.get(line % GREYS.size()));
      series.setLineStyle(STROKES.get(line % STROKES.size()));
      series.setLineColor(GREYS.get(line % GREYS.size()));
      double at = apart(end, ends, Math.max(0.5, top * 0.07));
      ends.add(at);
      AnnotationText label = new AnnotationText(entry.getKey().title(), weeks * 1.21, at, false);
      chart.addAnnotation(label);
      line++;
    }
    chart.getStyler().setYAxisMax(Math.max(5, top * 1.15));
    return image(chart);
  }

  /** A height for a label that is not on top of another. */
  private static double apart(double wanted, List<Double> taken, double least) {
    double at = wanted;
    while (true) {
      double now = at;
      if (taken.stream().noneMatch(other -> Math.abs(other - now) < least)) {
        return at;
      }
      at += least / 4;
    }
  }

  /** A figure of each policy as a bar with its interval. */
  static String bars(List<String> names, List<Band> bands, String axis) {
    CategoryChart chart =
        new CategoryChartBuilder()
            .width(WIDTH)
            .height(HEIGHT)
            .xAxisTitle("")
            .yAxisTitle(axis)
            .build();
    style(chart.getStyler());
    CategoryStyler styler = chart.getStyler();
    styler.setAvailableSpaceFill(0.45);
    styler.setYAxisMin(0.0);
    List<Double> values = bands.stream().map(Band::value).toList();
    List<Double> errors =
        bands.stream().map(b -> Math.max(b.high() - b.value(), b.value() - b.low())).toList();
    chart.addSeries(axis, names, values, errors).setFillColor(new Color(190, 190, 190));
    styler.setYAxisMax(1.1 * bands.stream().mapToDouble(Band::high).max().orElse(1));
    return image(chart);
  }

  /** The share of forecasts that hold, by number of readings, with the band that is aimed at. */
  static String coverage(Map<Integer, Coverage.Tally> coverage) {
    XYChart chart =
        new XYChartBuilder()
            .width(WIDTH)
            .height(HEIGHT)
            .xAxisTitle("readings that the forecast is made from")
            .yAxisTitle("arrivals inside the 80 % interval, %")
            .build();
    style(chart.getStyler());
    List<Double> x = new ArrayList<>();
    List<Double> y = new ArrayList<>();
    double most = 2;
    for (Map.Entry<Integer, Coverage.Tally> entry : coverage.entrySet()) {
      Coverage.Tally tally = entry.getValue();
      if (tally.made() < LEAST_FORECASTS) {
        continue;
      }
      ClopperPearson limits = tally.limits();
      double share = (double) tally.inside() / tally.made();
      x.add((double) entry.getKey());
      y.add(100 * share);
      XYSeries limit =
          chart.addSeries(
              "limits " + entry.getKey(),
              List.of((double) entry.getKey(), (double) entry.getKey()),
              List.of(100 * limits.low(), 100 * limits.high()));
      limit.setMarker(SeriesMarkers.NONE);
      limit.setLineColor(Color.BLACK);
      limit.setLineStyle(new BasicStroke(1.6f));
      most = Math.max(most, entry.getKey());
    }
    for (double edge : new double[] {75, 85}) {
      XYSeries aim = chart.addSeries("aim " + edge, List.of(2.0, most + 1), List.of(edge, edge));
      aim.setMarker(SeriesMarkers.NONE);
      aim.setLineStyle(STROKES.get(1));
      aim.setLineColor(Color.GRAY);
    }
    if (!x.isEmpty()) {
      XYSeries seen = chart.addSeries("seen", x, y);
      seen.setMarker(SeriesMarkers.CIRCLE);
      seen.setMarkerColor(Color.BLACK);
      seen.setLineColor(Color.BLACK);
      seen.setLineStyle(STROKES.get(0));
    }
    chart.getStyler().setXAxisMin(2.0).setXAxisMax(most + 1).setYAxisMin(0.0).setYAxisMax(100.0);
    return image(chart);
  }

  private static void style(AxesChartStyler styler) {
    styler.setChartBackgroundColor(Color.WHITE);
    styler.setPlotBackgroundColor(Color.WHITE);
    styler.setPlotBorderVisible(false);
    styler.setPlotGridLinesColor(new Color(225, 225, 225));
    styler.setLegendVisible(false);
    styler.setChartTitleVisible(false);
    styler.setAxisTickLabelsFont(new Font(Font.SANS_SERIF, Font.PLAIN, 15));
    styler.setAxisTitleFont(new Font(Font.SANS_SERIF, Font.PLAIN, 16));
    styler.setErrorBarsColor(Color.BLACK);
    styler.setAnnotationTextFont(new Font(Font.SANS_SERIF, Font.PLAIN, 15));
    styler.setAnnotationTextFontColor(Color.BLACK);
    ((Styler) styler).setChartPadding(12);
  }

  private static BasicStroke stroke(float... dash) {
    return new BasicStroke(2.4f, BasicStroke.CAP_BUTT, BasicStroke.JOIN_ROUND, 1, dash, 0);
  }

  private static String image(Chart<?, ?> chart) {
    try {
      byte[] png = BitmapEncoder.getBitmapBytes(chart, BitmapEncoder.BitmapFormat.PNG);
      return "data:image/png;base64," + Base64.getEncoder().encodeToString(png);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }
}
