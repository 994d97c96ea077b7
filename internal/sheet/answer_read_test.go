package sheet

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/job"
)

var answerDay = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

const answerHead = "ref,revision,window,confirm,price,day,order number,words\n"

// A row is taken as it was meant, whichever way a spreadsheet wrote it.
func TestAnswersAsSpreadsheetsWriteThem(t *testing.T) {
	price := decimal.RequireFromString("310.5")
	want := []job.LineAnswer{{Row: 2, Window: 3, Revision: "A", Confirm: true, Price: &price, Due: "2026-12-03", Order: "4711", Words: "which side?"}}
	for name, file := range map[string]string{
		"as written":     answerHead + "Q3ATR7,A,3,yes,310.50,2026-12-03,4711,which side?\n",
		"byte mark":      "\uFEFF" + answerHead + "Q3ATR7,A,3,yes,310.50,2026-12-03,4711,which side?\r\n",
		"semicolons":     "ref;revision;window;confirm;price;day;order number;words\nQ3ATR7;A;3;Yes;310,50;3.12.2026;4711;which side?",
		"in pounds":      answerHead + "Q3ATR7,A,3,X,\"£310,50\",3 December 2026,4711,\"which\nside?\"\n",
		"other order":    "words,Window,day,Order Number,confirm,price,REF,revision,glass\nwhich side?,3,03/12/2026,4711,y,310.5,q3a tr7,a,4-20-4\n",
		"apostrophes":    answerHead + "'Q3ATR7,'A,'3,'yes,'310.50,'2026-12-03,'4711,'which side?\n",
		"empty rows too": answerHead + "Q3ATR7,A,3,yes,310.50,2026-12-03,4711,which side?\n,,,,,,,\nQ3ATR7,A,4\n",
	} {
		got, trouble := ReadAnswers([]byte(file), answerDay)
		require.Nil(t, trouble, name)
		require.Empty(t, got.Refused, name)
		require.Equal(t, "Q3ATR7", got.Ref, name)
		require.Len(t, got.Lines, 1, name)
		require.True(t, price.Equal(*got.Lines[0].Price), name)
		got.Lines[0].Price = &price
		require.Equal(t, want, got.Lines, name)
		require.Equal(t, "Q3ATR7", AnswersRef([]byte(file)), name)
	}
}

// What can't be understood is refused with its row, and the other rows are taken.
func TestRowsOfAnswersThatAreRefused(t *testing.T) {
	for row, key := range map[string]string{
		"Q3ATR7,A,x,yes,,,,":                             "answers.window",
		"Q3ATR7,A,1,perhaps,,,,":                         "answers.confirm",
		"Q3ATR7,A,1,no,,,,":                              "answers.no_reason",
		"Q3ATR7,A,1,yes,soon,,,":                         "answers.price",
		"Q3ATR7,A,1,yes,1.234,,,":                        "answers.price_two",
		"Q3ATR7,A,1,yes,310.505,,,":                      "answers.price_two",
		"Q3ATR7,A,1,yes,0,,,":                            "answers.price_zero",
		"Q3ATR7,A,1,yes,-5,,,":                           "job.refused.price_negative",
		"Q3ATR7,A,1,yes,99999999,,,":                     "job.price.most",
		"Q3ATR7,A,1,yes,,12/31/2026,,":                   "answers.day_two",
		"Q3ATR7,A,1,yes,,30 Feb 2027,,":                  "answers.day",
		"Q3ATR7,A,1,yes,,2036-12-03,,":                   "answers.day_far",
		"Q3ATR7,A,1,yes,,46359,,":                        "answers.day",
		"Q3ATR7,,1,yes,,,,":                              "answers.revision",
		"Q3ATR8,A,1,yes,,,,":                             "answers.ref",
		"Q3ATR7,A,2,yes,,,,":                             "answers.twice",
		"Q3ATR7,A,1,,,,," + strings.Repeat("a", 501):     "answers.long",
		"Q3ATR7,A,1,,,," + strings.Repeat("7", 41):       "answers.long",
		"Q3ATR7,A,1,,,," + strings.Repeat("7", 41) + ",": "answers.long",
	} {
		got, trouble := ReadAnswers([]byte(answerHead+"Q3ATR7,A,2,yes,,,,\n"+row+"\nQ3ATR7,A,4,yes,,,,\n"), answerDay)
		require.Nil(t, trouble, row)
		require.NotEmpty(t, got.Refused, row)
		last := got.Refused[len(got.Refused)-1]
		require.Equal(t, 3, last.Row, row)
		require.Equal(t, key, last.Why.Key, row)
		require.Equal(t, 4, got.Lines[len(got.Lines)-1].Window, row)
	}
}

// A file of which nothing can be taken says why.
func TestFilesThatAreNoAnswers(t *testing.T) {
	for file, key := range map[string]string{
		"": "answers.columns", "room,width\nbath,1204\n": "answers.columns", "ref,revision,window\nQ3ATR7,A,1\n": "answers.columns",
		answerHead: "answers.empty", answerHead + ",,,\n": "answers.empty", "\xff\xfer\x00e\x00f\x00": "answers.utf8",
		"ref,revision,window,price,price\nQ3ATR7,A,1,2,3\n":                          "answers.column_twice",
		answerHead + "Q3ATR7,A,1,yes,,,,\nQ3ATR7,A,2,\"yes,,,,\n":                    "answers.broken",
		answerHead + "Q3ATR7,A,1,yes,,,,\n" + otherJob() + ",A,1,yes,,,,\n":          "answers.two_jobs",
		answerHead + strings.Repeat("Q3ATR7,A,1,,,,,\n", MostAnswers+1):              "answers.rows_many",
		answerHead + "Q3ATR7,A,1,,,,," + strings.Repeat("a", MostAnswerBytes) + "\n": "answers.large",
	} {
		got, trouble := ReadAnswers([]byte(file), answerDay)
		require.NotNil(t, trouble, "%.60q", file)
		require.Equal(t, key, trouble.Key, "%.60q", file)
		require.Empty(t, got.Lines)
	}
}

func otherJob() string { return job.NewReference([]byte("another job")) }

// The order's own CSV, filled in, is read back: each row is of the line that it was
// written for. Left empty it holds no answer.
func TestTheOrdersOwnTableIsReadBack(t *testing.T) {
	sheet := ordinary(t, 6)
	raw, err := printer(english).CSV(sheet)
	require.NoError(t, err)
	none, trouble := ReadAnswers(raw, answerDay)
	require.Nil(t, trouble)
	require.Empty(t, none.Lines)
	require.Empty(t, none.Refused)
	rows, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(raw, []byte("\uFEFF")))).ReadAll()
	require.NoError(t, err)
	for i, name := range rows[0] {
		if name == "confirm" {
			for _, row := range rows[1:] {
				row[i] = "yes"
			}
		}
	}
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.Comma = ';'
	require.NoError(t, w.WriteAll(rows))
	got, trouble := ReadAnswers(out.Bytes(), answerDay)
	require.Nil(t, trouble)
	require.Empty(t, got.Refused)
	require.Equal(t, sheet.Ref, got.Ref)
	require.Len(t, got.Lines, len(sheet.Lines))
	for i, l := range got.Lines {
		require.Equal(t, job.LineAnswer{Row: i + 2, Window: sheet.Lines[i].Opening, Revision: sheet.Revision, Confirm: true}, l)
	}
}

// Whatever comes is taken or refused: each line once, in order, within its limits, with
// a window, and never both taken and refused.
func FuzzReadAnswers(f *testing.F) {
	f.Add([]byte(answerHead + "Q3ATR7,A,3,yes,310.50,2026-12-03,4711,which side?\n"))
	f.Add([]byte("\uFEFFref;revision;window;confirm;price;day;order number;words\r\nQ3ATR7;A;3;no;310,50;3.12.2026;4711;\"a\nb\"\r\n"))
	f.Add([]byte("ref,revision,window,price\n\"Q3ATR7,A,1"))
	f.Fuzz(func(t *testing.T, data []byte) {
		got, trouble := ReadAnswers(data, answerDay)
		if trouble != nil {
			require.Empty(t, got.Lines)
			return
		}
		require.Equal(t, got.Ref, AnswersRef(data))
		rows, windows := map[int]bool{}, map[int]bool{}
		for _, l := range got.Lines {
			require.False(t, rows[l.Row] || windows[l.Window], "once")
			rows[l.Row], windows[l.Window] = true, true
			require.Positive(t, l.Window)
			require.True(t, l.Confirm || l.Price != nil || l.Due != "" || l.Order != "" || l.Words != "")
			require.True(t, l.Price == nil || l.Price.IsPositive() && l.Price.Exponent() >= -2)
		}
		for _, r := range got.Refused {
			require.False(t, rows[r.Row], "taken and refused")
			rows[r.Row] = true
		}
		require.LessOrEqual(t, len(rows), MostAnswers)
	})
}
