package main

import (
	"cmp"
	"errors"
	"flag"
	"fmt"
	"io"
	"time"

	"sillbot/internal/phrase"
	"sillbot/internal/safety"
	"sillbot/locales"
)

// printRules writes which edition on which topic is known for which nation, from
// when to when, and what is not verified, for the days until one.
func printRules(args []string, now time.Time, out, errs io.Writer) error {
	flags := flag.NewFlagSet("rules", flag.ContinueOnError)
	flags.SetOutput(errs)
	until := flags.String("until", now.Format("2006"), "last day to look at: a year, or a day as 2006-01-02")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if flags.NArg() > 0 {
		return errors.New("rules takes no file")
	}
	last, err := lastDay(*until)
	if err != nil {
		return err
	}
	words, err := locales.Load()
	if err != nil {
		return err
	}
	say := func(t phrase.Text) string { return words.Plain(locales.Default, t) }
	fmt.Fprintln(out, say(phrase.Of("rules.title").Saying("day", last.Format(time.DateOnly))))
	topic := safety.Topic("")
	for _, s := range safety.Spans(last) {
		if s.Topic != topic {
			topic = s.Topic
			fmt.Fprintf(out, "\n%s\n", say(phrase.Of("topic."+string(topic))))
		}
		fmt.Fprintln(out, "  "+say(spanText(s)))
	}
	return nil
}

// lastDay is the day, or the last one of the year.
func lastDay(until string) (time.Time, error) {
	if year, err := time.Parse("2006", until); err == nil {
		return year.AddDate(1, 0, -1), nil
	}
	day, err := time.Parse(time.DateOnly, until)
	if err != nil {
		return day, fmt.Errorf("--until takes a year or a day as 2006-01-02, not %q", until)
	}
	return day, nil
}

// spanText is one span in words.
func spanText(s safety.Span) phrase.Text {
	t := phrase.Of("rules.span")
	if s.HigherRisk {
		t = phrase.Of("rules.span.higher")
	}
	standing := s.Standing
	if standing == "known" && s.Edition == "" {
		standing = "undated"
	}
	t = t.Word("nation", "nation."+string(s.Nation)).Word("standing", "rules."+standing).
		Saying("from", cmp.Or(s.From, "…")).Saying("until", dayBefore(s.Until))
	if s.Document == "" {
		return t.Word("source", "")
	}
	source := phrase.Of("rules.source").Word("document", "source."+s.Document).Word("mark", "mark."+string(s.Mark))
	if s.Clause != "" || s.Edition != "" {
		source = phrase.Of("rules.source.part").Word("document", "source."+s.Document).Word("mark", "mark."+string(s.Mark)).
			Saying("part", clauseAndEdition(s))
	}
	return t.Sub1("source", source)
}

// dayBefore is the last day of a span.
func dayBefore(until string) string {
	day, err := time.Parse(time.DateOnly, until)
	if err != nil {
		return "…"
	}
	return day.AddDate(0, 0, -1).Format(time.DateOnly)
}

func clauseAndEdition(s safety.Span) string {
	if s.Clause != "" && s.Edition != "" {
		return s.Clause + ", " + s.Edition
	}
	return s.Clause + s.Edition
}
